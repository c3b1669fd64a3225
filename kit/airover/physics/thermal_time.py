"""A motor's temperatures followed in time: duty cycles, restart, locked rotor, its protector.

The network of `thermal` with each node's heat capacity, integrated by SciPy. One motor at a time:
every value of the network is a number (`Network.rearranged` picks a draw).
"""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from scipy.integrate import solve_ivp

from airover.errors import InputError
from airover.limits import TEMP_WINDING, Range, check
from airover.message import Message
from airover.physics.thermal import Network, Nodes

DURATION = Range(1e-3, 1e7, "s")
RELATIVE_ERROR = 1e-7  # of the integration, per step
ABSOLUTE_ERROR = 1e-5  # K, likewise
SAMPLES = 200  # in each stretch between two switchings
MOST_SWITCHINGS = 2000


class Moment(NamedTuple):
    """What acts on a motor at a moment: ``losses`` [W] at its nodes (sun at the shell), ``film``
    [W/m2K] of the stream alone (0 while the fan stands), ``temp_air`` [degC]."""

    losses: Nodes
    film: float
    temp_air: float


class Protector(NamedTuple):
    """A switch that opens at ``trip`` [degC] and closes again at ``reset`` [degC].

    It feels the mean of the nodes by the weights in ``senses``, which add up to 1. Heat that the
    current makes in the switch itself is left out.
    """

    trip: float
    reset: float
    senses: Nodes

    def felt(self, temps: Nodes):
        """Temperature [degC] that it feels at node temperatures ``temps`` [degC]."""
        return sum(share * temp for share, temp in zip(self.senses, temps, strict=True))


class Course(NamedTuple):
    """A motor over ``time`` [s]: ``temps`` [degC] of the nodes, ``closed`` tells whether the
    protector lets current through, ``heat_in`` and ``heat_out`` [W] to the motor and to the air.
    All have one length; a switching stands there twice, as it was before and after. ``switched``
    [s] are the moments at which the protector opened or closed, in turns."""

    time: np.ndarray
    temps: Nodes
    closed: np.ndarray
    heat_in: np.ndarray
    heat_out: np.ndarray
    switched: np.ndarray


def follow(
    network: Network,
    moment: Callable[[float, Nodes, bool], Moment],
    temps: Nodes,
    duration,
    protector: Protector | None = None,
    closed: bool = True,
    changes=(),
    samples: int = SAMPLES,
) -> Course:
    """Follow one motor for ``duration`` [s] from node temperatures ``temps`` [degC].

    ``moment(time, temps, closed)`` says what acts on it at a ``time`` [s] from the beginning:
    losses may follow the temperatures, and with ``closed`` False the protector has opened.
    ``changes`` [s] are times at which it changes suddenly, such as those of a duty cycle, so that
    the integration stops there. A ``protector`` opens and closes by itself; ``closed`` is its
    state at the beginning. ``samples`` in each stretch between two changes. Raises InputError out
    of range, ArithmeticError where SciPy gives up or the protector chatters.
    """
    duration = float(check("duration", duration, DURATION))
    start = np.array([float(check("temps", temp, TEMP_WINDING)) for temp in temps])
    _refuse(protector)
    return _Followed(network, moment, protector, samples).over(start, duration, closed, changes)


class _Followed:
    """The bookkeeping of one ``follow``: stretches between changes and switchings."""

    def __init__(self, network, moment, protector, samples):
        self.network, self.moment = network, moment
        self.protector, self.samples = protector, samples
        self.matrix = network.matrix()
        self.capacity = np.array(network.capacity)
        self.stretches, self.switched = [], []

    def over(self, start, duration, closed, changes) -> Course:
        stops = sorted({float(t) for t in changes if 0 < t < duration} | {duration})
        time, temps = 0.0, start
        if self._must_open(temps, closed):
            closed = self._switch(time, closed)
        for stop in stops:
            while time < stop:
                time, temps, switches = self._stretch(time, temps, stop, closed)
                if switches:
                    closed = self._switch(time, closed)
        return self._course()

    def _must_open(self, temps, closed) -> bool:
        guarded = self.protector is not None and closed
        return guarded and self.protector.felt(Nodes(*temps)) >= self.protector.trip

    def _switch(self, time, closed) -> bool:
        self.switched.append(time)
        if len(self.switched) > MOST_SWITCHINGS:
            raise ArithmeticError(f"the protector switched {MOST_SWITCHINGS} times")
        return not closed

    def _stretch(self, time, temps, stop, closed):
        """Integrate to ``stop`` or to the next switching; where that ended, and whether by it."""
        found = solve_ivp(
            lambda t, x: self._rates(t, x, closed),
            (time, stop),
            temps,
            method="LSODA",
            dense_output=True,
            events=self._event(closed),
            rtol=RELATIVE_ERROR,
            atol=ABSOLUTE_ERROR,
        )
        if found.status < 0:
            raise ArithmeticError(f"temperatures could not be followed: {found.message}")
        end = found.t[-1]
        times = np.linspace(time, end, self.samples)
        self.stretches.append((times, found.sol(times), closed))
        return end, found.y[:, -1], found.status == 1

    def _event(self, closed):
        if self.protector is None:
            return None
        level = self.protector.trip if closed else self.protector.reset

        def crossing(_, temps):
            return self.protector.felt(temps) - level

        crossing.terminal = True
        crossing.direction = 1 if closed else -1
        return crossing

    def _flows(self, time, temps, closed):
        """Losses and heat to the air [W] at the nodes."""
        at = Nodes(*temps)
        acting = self.moment(time, at, closed)
        out = self.network.to_air(at, acting.film, acting.temp_air)
        return np.array(acting.losses), np.array(out)

    def _rates(self, time, temps, closed):
        """Kelvin per second of each node."""
        made, out = self._flows(time, temps, closed)
        return (made - out - self.matrix @ temps) / self.capacity

    def _course(self) -> Course:
        time = np.concatenate([times for times, _, _ in self.stretches])
        temps = np.concatenate([temps for _, temps, _ in self.stretches], axis=1)
        closed = np.concatenate([np.full(len(t), state) for t, _, state in self.stretches])
        rows = zip(time, temps.T, closed, strict=True)
        flows = np.array([[flow.sum() for flow in self._flows(*row)] for row in rows])
        switched = np.array(self.switched)
        return Course(time, Nodes(*temps), closed, flows[:, 0], flows[:, 1], switched)


def _refuse(protector: Protector | None) -> None:
    """Raise InputError for a protector that cannot work."""
    if protector is None:
        return
    check("trip", protector.trip, TEMP_WINDING)
    check("reset", protector.reset, TEMP_WINDING)
    if not protector.reset < protector.trip:
        accepted = Message("error.physics.below_trip", temp=f"{protector.trip:g} degC")
        raise InputError("reset", f"{protector.reset:g} degC", accepted)
    if abs(sum(protector.senses) - 1) > 1e-6:
        given = Message("error.physics.weights", sum=f"{sum(protector.senses):.9g}")
        raise InputError("senses", given, Message("error.physics.weights", sum=1))

"""Motor temperatures over time: duty cycles, restart, locked rotor and thermal protector.

Uses the thermal network of the motor with the heat capacity of each node. `follow` integrates one
motor with SciPy; every value of its network is a single number (`Network.rearranged` selects a
sample). `follow_many` simulates hundreds of motors, each with its own protector, in the same
computing time: conductances to the air are constant for up to a minute, so the network is linear
and its steps are exact (matrix exponential).

Slot paper, varnish and oil have no heat capacity in the model, so a winding warms slightly too
fast. The protector senses a stated mixture of nodes; the heat of its own current is not included,
so with a locked rotor a real protector trips sooner.
"""

from collections.abc import Callable
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from scipy.integrate import solve_ivp

from airover.core.errors import TEMP_WINDING, InputError, Range, check
from airover.core.message import Message
from airover.physics.thermal_network import Network, Nodes

DURATION = Range(1e-3, 1e7, "s")
RELATIVE_ERROR = 1e-7  # of the integration, per step
ABSOLUTE_ERROR = 1e-5  # K, same
SAMPLES = 200  # in each interval between two switching events
MOST_SWITCHINGS = 2000
STEP = Range(1e-3, 3600.0, "s")
HELD = 60.0  # s for which the conductances to the air are constant
LEAST_RISE = 0.01  # K, minimum rise for calculating a conductance to the air


class ThermalMoment(NamedTuple):
    """Heat acting on a motor at one time.

    Attributes
    ----------
    losses : Nodes
        Losses at the nodes, with solar heat at the shell [W].
    film : float
        Convection coefficient from the airstream alone (0 while the fan is stopped) [W/m2K].
    temp_air : float
        Air temperature [degC].
    """

    losses: Nodes
    film: float
    temp_air: float


class Protector(NamedTuple):
    """Thermal protector that opens at ``trip`` [degC] and closes again at ``reset`` [degC].

    ``senses``: weight of each node in the sensed temperature; the weights sum to 1. Heat generated
    by current in the protector is not included.
    """

    trip: float
    reset: float
    senses: Nodes

    def felt(self, temps: Nodes):
        """Return the sensed temperature [degC] at node temperatures ``temps`` [degC]."""
        return sum(share * temp for share, temp in zip(self.senses, temps, strict=True))


class Course(NamedTuple):
    """Temperatures of one motor over time; all arrays except ``switched`` have the same length.

    Each switching time occurs twice in ``time``, before and after the event.

    Attributes
    ----------
    time : ndarray
        Time [s].
    temps : Nodes
        Node temperatures [degC].
    closed : ndarray
        True if the protector is closed.
    heat_in, heat_out : ndarray
        Heat into the motor and heat rejected to the air [W].
    switched : ndarray
        Times at which the protector opened or closed, alternately [s].
    """

    time: np.ndarray
    temps: Nodes
    closed: np.ndarray
    heat_in: np.ndarray
    heat_out: np.ndarray
    switched: np.ndarray


def follow(
    network: Network,
    moment: Callable[[float, Nodes, bool], ThermalMoment],
    temps: Nodes,
    duration,
    protector: Protector | None = None,
    closed: bool = True,
    changes=(),
    samples: int = SAMPLES,
) -> Course:
    """Simulate one motor for ``duration`` [s] from node temperatures ``temps`` [degC].

    Parameters
    ----------
    network : Network
        Thermal network.
    moment : Callable
        Function of time [s], node temperatures and ``closed`` that returns the ThermalMoment, in
        which losses may depend on temperature and on an open protector (``closed`` False).
    temps : Nodes
        Initial node temperatures [degC].
    duration
        Simulated time [s].
    protector : Protector or None, optional
        Protector that opens and closes automatically, or None.
    closed : bool, optional
        Its initial state.
    changes : optional
        Times of sudden changes in ``moment``, as in a duty cycle, at which the integration stops
        and restarts [s].
    samples : int, optional
        Samples in each interval between two changes.

    Raises
    ------
    InputError
        If a value is out of range.
    ArithmeticError
        If SciPy does not converge or the protector chatters.
    """
    duration = float(check("duration", duration, DURATION))
    start = np.array([float(check("temps", temp, TEMP_WINDING)) for temp in temps])
    _refuse(protector)
    return _Followed(network, moment, protector, samples).over(start, duration, closed, changes)


class Courses(NamedTuple):
    """Temperatures of many motors over time.

    Attributes
    ----------
    time : ndarray
        Time [s], shape (times,).
    temps : Nodes
        Node temperatures [degC], each of shape (times, motors).
    closed : ndarray
        True if the protector is closed from that time on, shape (times, motors).
    """

    time: np.ndarray
    temps: Nodes
    closed: np.ndarray


def follow_many(
    network: Network,
    moment: Callable[[float, Nodes, np.ndarray], ThermalMoment],
    temps: Nodes,
    duration,
    step,
    protector: Protector | None = None,
    changes=(),
    held=HELD,
) -> Courses:
    """Simulate many motors for ``duration`` [s] from node temperatures ``temps`` [degC].

    Losses are evaluated at the midpoint of each step.

    Parameters
    ----------
    network, temps : Network
        Network and initial temperatures, with motors on the last axes.
    moment : Callable
        As in `follow`, with arrays over the motors, including ``closed``.
    duration
        Simulated time [s].
    step
        Longest time step [s].
    protector : Protector or None, optional
        Opens and closes only at the end of a step, so use short steps if its timing matters.
    changes : optional
        Times of sudden changes, which no step crosses [s].
    held : optional
        Time for which the conductances to the air are constant, at their initial values [s].

    Raises
    ------
    InputError
        If a value is out of range.
    """
    duration = float(check("duration", duration, DURATION))
    step = float(check("step", step, STEP))
    start = np.stack(np.broadcast_arrays(*(check("temps", t, TEMP_WINDING) for t in temps)), -1)
    many = _Many(network, moment, protector, start)
    stops = [0.0, *sorted(float(t) for t in changes if 0 < t < duration), duration]
    for begin, end in pairwise(stops):
        many.before = many.state
        edges = _even(begin, end, held)
        for stretch in pairwise(edges):
            many.over(_even(*stretch, step))
    shown = np.moveaxis(np.array(many.shown), -1, 0)
    return Courses(np.array(many.time), Nodes(*shown), np.array(many.closed_shown))


class _Followed:
    """Progress of one ``follow``: intervals between changes and switching events."""

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
        """Integrate to ``stop`` or the next switching event.

        Returns the end time [s], the temperatures [degC], and True if a switching event ended the
        interval.
        """
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
        """Return the losses and the heat to the air [W] at the nodes."""
        at = Nodes(*temps)
        acting = self.moment(time, at, closed)
        out = self.network.to_air(at, acting.film, acting.temp_air)
        return np.array(acting.losses), np.array(out)

    def _rates(self, time, temps, closed):
        """Return the rate of temperature change [K/s] of each node."""
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
    """Raise InputError for invalid protector settings."""
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


def _even(begin, end, longest):
    """Return evenly spaced times from ``begin`` to ``end``, at most ``longest`` apart."""
    return np.linspace(begin, end, max(int(np.ceil((end - begin) / longest - 1e-9)), 1) + 1)


class _Propagator(NamedTuple):
    """One time step: new temperatures = ``keep`` @ old temperatures + ``take`` @ heat input."""

    keep: np.ndarray
    take: np.ndarray
    to_air: np.ndarray

    def where(self, mask, other: "_Propagator") -> "_Propagator":
        wide = mask[..., None, None]
        return _Propagator(
            np.where(wide, self.keep, other.keep),
            np.where(wide, self.take, other.take),
            np.where(mask[..., None], self.to_air, other.to_air),
        )


class _Many:
    """State and history of the simulated motors."""

    def __init__(self, network, moment, protector, start):
        self.network, self.moment, self.protector = network, moment, protector
        self.matrix = network.matrix()
        self.root = np.sqrt(np.stack(np.broadcast_arrays(*network.capacity), axis=-1))
        motors = np.broadcast_shapes(start.shape, self.matrix.shape[:-1], self.root.shape)
        self.state = self.before = np.broadcast_to(start, motors)
        self.closed = np.ones(motors[:-1], dtype=bool)
        self._switch()
        self.time, self.shown, self.closed_shown = [0.0], [self.state], [self.closed]

    def over(self, times):
        """Step to each of ``times`` with constant conductances to the air."""
        step = times[1] - times[0]
        middle = times[0] + step / 2
        running = self._propagator(middle, np.ones_like(self.closed), step)
        tripped = running
        if self.protector is not None:
            tripped = self._propagator(middle, np.zeros_like(self.closed), step)
        now, state = running.where(self.closed, tripped), self.closed
        for end in times[1:]:
            if self.closed is not state:
                now, state = running.where(self.closed, tripped), self.closed
            self._step(now, end - step / 2)
            self._switch()
            self.time.append(end)
            self.shown.append(self.state)
            self.closed_shown.append(self.closed)

    def _step(self, now: _Propagator, middle):
        ahead = self.state + (self.state - self.before) / 2  # extrapolated to mid-step
        acting = self.moment(middle, _nodes(ahead), self.closed)
        brought = _last(acting.losses) + now.to_air * _at_nodes(acting.temp_air)
        self.before = self.state
        self.state = _times(now.keep, self.state) + _times(now.take, brought)

    def _switch(self):
        """Open or reset the protectors that have reached their temperature."""
        if self.protector is None:
            return
        felt = self.protector.felt(_nodes(self.state))
        level = np.where(self.closed, self.protector.trip, self.protector.reset)
        closed = np.where(self.closed, felt < level, felt <= level)
        if np.any(closed != self.closed):
            self.before = np.where((closed != self.closed)[..., None], self.state, self.before)
            self.closed = closed

    def _propagator(self, time, closed, step) -> _Propagator:
        """Return the step matrices, from eigenvalues of the matrix scaled by root capacity."""
        acting = self.moment(time, _nodes(self.state), closed)
        to_air = self._to_air(acting)
        matrix = self.matrix + to_air[..., None] * np.eye(7)
        scaled = matrix / (self.root[..., :, None] * self.root[..., None, :])
        rates, vectors = np.linalg.eigh(scaled)
        back = np.swapaxes(vectors, -1, -2) * self.root[..., None, :]
        forth = vectors / self.root[..., :, None]
        faded = np.exp(-rates * step)
        keep = (forth * faded[..., None, :]) @ back
        # temperature change due to heat in one step: (1 - fading) / rate, for each eigenmode
        into = np.swapaxes(vectors, -1, -2) / self.root[..., None, :]
        take = (forth * (-np.expm1(-rates * step) / rates)[..., None, :]) @ into
        return _Propagator(keep, take, to_air)

    def _to_air(self, acting: ThermalMoment):
        """Return the conductance [W/K] of each node to the air at the present temperatures."""
        rise = self.state - _at_nodes(acting.temp_air)
        rise = np.where(np.abs(rise) < LEAST_RISE, LEAST_RISE, rise)
        temps = _nodes(_at_nodes(acting.temp_air) + rise)
        return _last(self.network.to_air(temps, acting.film, acting.temp_air)) / rise


def _nodes(state) -> Nodes:
    return Nodes(*np.moveaxis(state, -1, 0))


def _last(nodes):
    """Return the node values stacked on a last axis."""
    return np.stack(np.broadcast_arrays(*nodes), axis=-1)


def _at_nodes(value):
    return np.asarray(value)[..., None]


def _times(matrix, vector):
    return (matrix @ vector[..., None])[..., 0]

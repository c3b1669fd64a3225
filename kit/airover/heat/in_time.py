"""All draws of one motor in time: running, held by a locked rotor, without voltage.

Losses follow each draw's own winding and rotor temperatures, through a table of the circuit worked
warm. While the fan stands, only the shell's own draught and radiation cool.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from airover.bands import Band
from airover.motor.one import Load, Motor
from airover.motor.warm import at_temperature
from airover.physics.circuit import Solution
from airover.physics.thermal import Nodes, placed
from airover.physics.thermal_many import HELD, follow_many
from airover.physics.thermal_time import Moment, Protector

STEP = 20.0  # s
TABLE = np.linspace(-60.0, 340.0, 11)  # degC of the windings, for which losses are worked
ROTOR_OVER = np.array([0.0, 120.0])  # K over the windings, likewise
_LOSSES = ("loss_main", "loss_aux", "loss_rotor", "loss_core", "loss_friction")


class Powered(NamedTuple):
    """What acts on a motor in one state: a ``table`` of its five losses (losses, rotor over
    winding, winding, draws), or None without current; ``film`` [W/m2K] of the stream,
    ``temp_air`` [degC], ``sun`` [W] on the shell."""

    table: np.ndarray | None
    film: np.ndarray
    temp_air: np.ndarray
    sun: np.ndarray

    def losses(self, temps: Nodes, average):
        """The five losses [W] at node temperatures, ``average`` that of the winding; two
        straight lines between what was worked."""
        if self.table is None:
            return [0.0] * len(_LOSSES)
        place = np.clip((average - TABLE[0]) / (TABLE[1] - TABLE[0]), 0, len(TABLE) - 1.001)
        at, draws = place.astype(int), np.arange(place.shape[-1])
        share = place - at
        both = self.table[:, :, at, draws] * (1 - share) + self.table[:, :, at + 1, draws] * share
        over = np.clip((temps.rotor - average - ROTOR_OVER[0]) / np.ptp(ROTOR_OVER), -0.5, 3.0)
        return both[:, 0] + over * (both[:, 1] - both[:, 0])


def running(motor: Motor, load: Load, voltage) -> Powered:
    """A motor that turns its fan: ``load`` and ``voltage`` [V] as in Motor.run."""
    steady = motor.run(load, voltage)
    speed = load.air.speed * steady.solution.speed_rpm[0] / load.air.speed_rpm
    film = motor.shell.film(speed, load.air.temp_air)
    circuit = _at_table(motor)
    settled = motor.settle(circuit, float(voltage), motor.frequency, load.coefficient)
    return _powered(motor, load, settled.solution, film)


def standing(motor: Motor, load: Load, voltage) -> Powered:
    """A motor under ``voltage`` [V] that does not turn."""
    held = _at_table(motor).balance(float(voltage), motor.frequency, 1.0)
    return _powered(motor, load, held, 0.0)


def idle(motor: Motor, load: Load, temp_air=None) -> Powered:
    """A motor without voltage, in ``temp_air`` [degC] or in the load's air."""
    found = _powered(motor, load, None, 0.0)
    return found if temp_air is None else found._replace(temp_air=np.asarray(temp_air))


def _powered(motor: Motor, load: Load, solution: Solution | None, film) -> Powered:
    table = None
    if solution is not None:
        shape = (len(ROTOR_OVER), len(TABLE), len(motor.rated.power))
        rows = (np.broadcast_to(getattr(solution, name), shape) for name in _LOSSES)
        table = np.stack(list(rows))
    sun = np.ravel(load.air.sun * np.pi / 4 * motor.shell.network.diameter**2)
    return Powered(table, np.ravel(film), np.ravel(load.air.temp_air), sun)


def _at_table(motor: Motor):
    """The circuits at all of the table's temperatures: (rotor over winding, winding, draws)."""
    winding = TABLE[:, None] + np.zeros((len(ROTOR_OVER), 1, 1))
    rotor = winding + ROTOR_OVER[:, None, None]
    temps = Nodes.all_at(winding)._replace(rotor=rotor)
    return at_temperature(motor.rated, motor.shell, temps)


@dataclass(frozen=True)
class History:
    """A motor's draws in time. ``time`` [s] of shape (times,); ``temps`` [degC] of the nodes and
    ``average`` [degC] of the winding are (times, draws), as is ``closed``: whether the protector
    lets current through. ``powered`` (times,) tells whether the unit asked for the fan on the way
    there."""

    time: np.ndarray
    temps: Nodes
    average: np.ndarray
    closed: np.ndarray
    powered: np.ndarray

    @property
    def hottest(self) -> np.ndarray:
        """The hotter one of the two windings [degC], (times, draws)."""
        return np.maximum(self.temps.winding_main, self.temps.winding_aux)

    def bands(self) -> dict[str, Band]:
        """Winding's average, hotter winding and shell [degC]; each member has shape (times,)."""
        shown = {"winding": self.average, "hottest": self.hottest, "shell": self.temps.shell}
        return {name: Band.of(values) for name, values in shown.items()}


class Stretch(NamedTuple):
    """What is ``acting`` until ``end`` [s]; ``on`` tells whether the unit asks for the fan."""

    end: float
    on: bool
    acting: Powered


def followed(
    motor: Motor, stretches, temps: Nodes, step=STEP, protector: Protector | None = None, held=HELD
) -> History:
    """Follow all draws of ``motor`` through ``stretches`` from node temperatures ``temps`` [degC].

    ``step`` [s], ``held`` [s] and ``protector`` as in thermal_many.follow_many; a protector may
    have arrays (draws,). Raises InputError.
    """
    draws = len(motor.rated.power)
    shell = motor.shell.rearranged(lambda value: np.broadcast_to(value, (1, draws))[0])
    ends = np.array([stretch.end for stretch in stretches])

    def moment(time, temps, closed):
        acting = stretches[min(int(np.searchsorted(ends, time)), len(ends) - 1)].acting
        losses = acting.losses(temps, shell.average(temps))
        current = (np.where(closed, loss, 0.0) for loss in losses)
        film = np.where(closed, acting.film, 0.0)  # a fan without current stands
        return Moment(placed(*current, acting.sun), film, acting.temp_air)

    start = Nodes(*(np.broadcast_to(np.ravel(t), draws) for t in temps))
    found = follow_many(shell.network, moment, start, ends[-1], step, protector, ends, held)
    asked = [stretches[i].on for i in np.searchsorted(ends, found.time[1:] - 1e-6)]
    average = shell.average(found.temps)
    powered = np.array([asked[0], *asked])
    return History(found.time, found.temps, average, found.closed, powered)

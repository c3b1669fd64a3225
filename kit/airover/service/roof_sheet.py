"""Summarize a work order on one page for the roof, with limits for two readings.

The sheet lists the motor, its capacitor, rotation, drain plug, shaft and mounting, the parts to
bring, and the expected volts and amps. The amps are 90 % ranges for the motor with the job's fan,
simulated at several voltages and outdoor temperatures, because a fan needs more power in cold,
dense air. `RoofSheet.judge` compares a pair of readings with these limits. The web page version of
the sheet does the same offline.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from airover.core.intervals import Band
from airover.core.message import Message, Quantity, Word
from airover.core.units import Amount
from airover.model.expected import mounted
from airover.records.job import Job
from airover.records.nameplate import LEAD_END, REVERSIBLE, from_shaft_end
from airover.records.readings import Meters
from airover.selection.check import MISSING
from airover.service.order import LOW_END, ORDER_CAUTIONS, WorkOrder

STEPS = 11  # voltages of the table, from the lowest to the highest allowed voltage
OUTDOOR = (-10.0, 5.0, 20.0, 35.0, 50.0)  # degC
ROUNDED = 5.0  # V, step of the printed voltages between the nameplate voltages
BESIDE = (0.96, 1.045)  # printed voltages outside the nameplate range, as fractions of its limits
BAD_BLADE = ("bent or cracked", "out of balance", "another than the unit's")

# States of a pair of readings, from the most to the least urgent
LOW_VOLTS, HIGH_VOLTS, OVER = "low volts", "high volts", "over"
LOW_AMPS, HIGH_AMPS = "low amps", "high amps"
ABOVE_NAMEPLATE, EXPECTED = "above nameplate", "expected"
STATES = (LOW_VOLTS, HIGH_VOLTS, OVER, LOW_AMPS, HIGH_AMPS, ABOVE_NAMEPLATE, EXPECTED)
STOP = (LOW_VOLTS, HIGH_VOLTS, OVER)  # states in which the motor must be shut off


class ExpectedAmps(NamedTuple):
    """Expected line current at several voltages and outdoor temperatures.

    Attributes
    ----------
    voltage : ndarray
        Supply voltages [V], shape (voltages,).
    outdoor : ndarray
        Outdoor temperatures [degC], shape (temperatures,).
    low, high : ndarray
        Limits [A] of the expected readings, including the error of a typical clamp meter, shape
        (temperatures, voltages).
    """

    voltage: np.ndarray
    outdoor: np.ndarray
    low: np.ndarray
    high: np.ndarray

    def at(self, volts: float, outdoor: float | None = None) -> tuple[float, float]:
        """Return the limits [A] at a voltage; without a temperature, they cover all temperatures.

        The limits are interpolated. Outside the table, the limits at its edge apply.
        """
        low = np.array([np.interp(volts, self.voltage, row) for row in self.low])
        high = np.array([np.interp(volts, self.voltage, row) for row in self.high])
        if outdoor is None:
            return float(low.min()), float(high.max())
        return tuple(float(np.interp(outdoor, self.outdoor, limit)) for limit in (low, high))


@dataclass(frozen=True)
class RoofSheet:
    """One-page summary of a work order.

    Attributes
    ----------
    order : WorkOrder
        Work order with the motor, the job and the causes.
    """

    order: WorkOrder

    @property
    def facts(self) -> dict[str, Message]:
        """Installation data, by line name, in the order shown on the page."""
        order, case = self.order, self.order.case
        rated = Quantity(case.rated_current, "current")
        lines = {
            "rating": Message(
                "roof.rating_one_of" if len(order.motor.ratings) > 1 else "roof.rating",
                rating=Quantity(case.rating, "power"), amps=rated,
            ),
            "capacitor": Message("roof.capacitor", needed=order.capacitor),
            "rotation": self._rotation(),
            "drain": self._drain(),
            "shaft": self._shaft(),
            "mounting": self._mounting(),
            "volts": Message("roof.volts", supply=Quantity(order.supply, "voltage")),
            "stop": Message("roof.stop", most=Quantity(order.most_amps, "current")),
        }  # fmt: skip
        return lines

    @property
    def parts(self) -> tuple[Message, ...]:
        """Parts and tools to bring to this job."""
        order, new = self.order, self.order.motor
        parts = [
            Message("roof.part.motor", motor=new.name, rating=Quantity(order.case.rating, "power")),
            Message("roof.part.capacitor", needed=order.capacitor),
        ]
        marked = order.job.nameplate.capacitor
        if marked is not None and marked.is_dual:
            parts[1] = Message("roof.part.capacitor_dual", needed=order.capacitor)
        for way in order.mountings:
            size = new.body_diameter if way == "belly band" else None
            parts.append(Message(f"roof.part.by.{way}") if size is None else Message(
                "roof.part.band", size=Quantity(size, "body_diameter")
            ))  # fmt: skip
        if order.job.found.blade in BAD_BLADE:
            blade = order.job.blade
            known = [one for one in (blade.diameter, blade.bore) if one]
            key = "roof.part.blade_known" if known else "roof.part.blade"
            parts.append(Message(key, known=known))
        if order.job.found.slinger == "missing":
            parts.append(Message("roof.part.slinger"))
        if "shaft length" in order.to_adapt:
            parts.append(Message("roof.part.saw"))
        return (*parts, Message("roof.part.small"), Message("roof.part.meters"))

    @property
    def questions(self) -> tuple[Message, ...]:
        """Facts to check at the unit before the motor is installed."""
        return tuple(Message(f"check.{one.name}") for one in self.order.candidate.having(MISSING))

    @property
    def label(self) -> Message:
        """Text of the label for the unit, without the date."""
        case, size, volts = self.order.case, self.order.motor.capacitor, self.order.capacitor_volts
        capacitor = Message("roof.label_capacitor_unknown")
        if None not in (size, volts):
            marked = {"size": Quantity(size, "capacitance"), "volts": Quantity(volts, "voltage")}
            capacitor = Message("roof.label_capacitor", **marked)
        return Message(
            "roof.label",
            motor=self.order.motor.name,
            rating=Quantity(case.rating, "power"),
            capacitor=capacitor,
            amps=Quantity(case.rated_current, "current"),
        )

    @property
    def cautions(self) -> tuple[Message, ...]:
        return ORDER_CAUTIONS

    @cached_property
    def amps(self) -> ExpectedAmps:
        """Expected amps over the allowable voltage range."""
        low, _, high = self.order.supply
        voltage = np.linspace(low, high, STEPS)
        each = [self._simulated(voltage, temp) for temp in OUTDOOR]
        ends = np.array([one.low for one in each]), np.array([one.high for one in each])
        return ExpectedAmps(voltage, np.array(OUTDOOR), *_as_read(*ends))

    @cached_property
    def printed_amps(self) -> tuple[tuple[float, Band], ...]:
        """Voltages [V] and the 90 % range of the current [A] at each on the design day."""
        volts = np.array(
            printed_voltages(self.order.motor.voltage_low, self.order.motor.voltage_high)
        )
        band = self._simulated(volts, None)
        return tuple(
            (float(at), Band(float(low), float(mid), float(high)))
            for at, low, mid, high in zip(volts, *band, strict=True)
        )

    @property
    def air(self) -> Band:
        """Air temperature at the motor on the design day [degC]."""
        return self.order.answer.needed["temp_at_motor_c"]

    def judge(self, volts: float, amps: float, outdoor: float | None = None) -> str:
        """Return the result, one of STATES, for a pair of readings on the running motor.

        Parameters
        ----------
        volts, amps : float
            Supply voltage [V] and line current [A].
        outdoor : float or None, optional
            Outdoor temperature [degC], or None if it was not read.
        """
        least, _, most = self.order.supply
        if volts < least:
            return LOW_VOLTS
        if volts > most:
            return HIGH_VOLTS
        if amps > self.order.most_amps:
            return OVER
        low, high = self.amps.at(volts, outdoor)
        if amps < low:
            return LOW_AMPS
        if amps > high:
            return HIGH_AMPS
        return ABOVE_NAMEPLATE if amps > self.order.case.rated_current else EXPECTED

    def _simulated(self, voltage, outdoor: float | None) -> Band:
        """Return the 90 % range of the current [A], shape (voltages,)."""
        case = self.order.case
        found = mounted(case.motor, case.rating, _at_outdoor(self.order.job, outdoor))
        return found.at(voltage).bands()["current_a"]

    def _rotation(self) -> Message:
        needed, has = self.order.rotation, self.order.motor.rotation_shaft_end
        if needed is None:
            return Message("roof.rotation_look")
        key = "rotation_plug" if has == REVERSIBLE else "rotation"
        other = Word(from_shaft_end(needed, LEAD_END))
        return Message(f"roof.{key}", sense=Word(needed), other=other)

    def _drain(self) -> Message:
        position = self.order.position
        if position == "horizontal":
            return Message("roof.drain_level")
        if position is None:
            return Message("roof.drain_low")
        return Message("roof.drain", end=Word(LOW_END[position]), position=Word(position))

    def _shaft(self) -> Message:
        new, old = self.order.motor.shaft_length, self.order.job.nameplate.shaft_length
        if "shaft length" in self.order.to_adapt:
            cut = Quantity(new - old.mid, "shaft_length")
            return Message("roof.shaft_cut", cut=cut, new=Quantity(new, "shaft_length"))
        if None in (new, old):
            return Message("roof.shaft_measure")
        return Message("roof.shaft_as_is", new=Quantity(new, "shaft_length"))

    def _mounting(self) -> Message:
        ways = [Word(way) for way in self.order.mountings]
        if not ways:
            return Message("roof.mounting_look")
        position = self.order.position
        key = "mounting_position" if position else "mounting"
        values = {"position": Word(position)} if position else {}
        return Message(f"roof.{key}", ways=ways, **values)


def printed_voltages(low: float, high: float) -> tuple[float, ...]:
    """Return five voltages [V] in and around a nameplate voltage range.

    >>> printed_voltages(208.0, 230.0)
    (200.0, 208.0, 220.0, 230.0, 240.0)
    >>> printed_voltages(115.0, 115.0)
    (105.0, 110.0, 115.0, 120.0, 125.0)
    """
    if low == high:
        others = [_rounded(share * low) for share in (0.92, 0.96, 1.045, 1.09)]
        return (*others[:2], low, *others[2:])
    outer = [_rounded(share * end) for share, end in zip(BESIDE, (low, high), strict=True)]
    return outer[0], low, _rounded((low + high) / 2), high, outer[1]


def _rounded(volts: float) -> float:
    return float(ROUNDED * round(volts / ROUNDED))


def _at_outdoor(job: Job, outdoor: float | None) -> Job:
    """Return the job on a day with this outdoor temperature [degC]."""
    if outdoor is None:
        return job
    air = Amount(outdoor, outdoor, "degC", f"{outdoor:g} degC")
    site = job.site.model_copy(update={"outdoor_temperature": air, "outdoor_temperature_min": None})
    return job.model_copy(update={"site": site})


def _as_read(low: np.ndarray, high: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the limits [A] widened by the error of a typical clamp meter with two decimals."""
    meter = Meters().current
    error = meter.digits * 0.01
    return (1 - meter.share) * low - error, (1 + meter.share) * high + error

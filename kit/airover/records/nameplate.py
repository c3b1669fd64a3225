"""The nameplate of a motor, as far as it can still be read."""

import math
from collections.abc import Iterator

from pydantic import Field

from airover.errors import InputError
from airover.records.fields import Record, Text, amount, choice, phase_field, whole
from airover.records.rotation import ENDS, REVERSIBLE, SENSES, from_shaft_end
from airover.records.words import (
    BEARINGS,
    CLASSES,
    DRAIN_PLUGS,
    ENCLOSURES,
    MOUNTINGS,
    SHAFT_POSITIONS,
)

GREATEST_SLIP = 0.25
MOST_POLES = 16
USUAL_EFFICIENCY_TIMES_PF = (
    0.35,
    0.75,
)  # common practice for small run-capacitor motors, no source


def poles_at(speed_rpm: float, frequency: float) -> int | None:
    """Poles of an induction motor that turns at ``speed_rpm`` [rpm] at ``frequency`` [Hz].

    The next synchronous speed above it, 120 f / poles; None when its slip would not lie below
    GREATEST_SLIP.

    >>> poles_at(1075, 60), poles_at(1200, 60)
    (6, None)
    """
    above = [poles for poles in range(2, MOST_POLES + 1, 2) if 120 * frequency / poles > speed_rpm]
    slip = 1 - speed_rpm * above[-1] / (120 * frequency) if above else 1.0
    return above[-1] if slip < GREATEST_SLIP else None


class Nameplate(Record):
    """What the plate says, or what was measured on the motor; unknown fields are None or "".

    Amounts are ranges in SI units (speed in rpm, temperatures in degC). Raises InputError for a
    field that cannot be read and for fields that contradict each other.
    """

    voltage: amount("voltage") = None
    frequency: amount("frequency") = None
    phase: phase_field() = None
    power: amount("power") = None
    current: amount("current") = None
    speed_rpm: amount("speed") = Field(None, alias="speed")
    poles: whole(2, MOST_POLES, even=True) = None
    capacitor: amount("capacitance") = None
    capacitor_voltage: amount("voltage") = None
    rotation: choice(SENSES) = None
    rotation_seen_from: choice(ENDS) = None
    frame: Text = ""
    shaft_diameter: amount("shaft_diameter") = None
    shaft_length: amount("shaft_length") = None
    body_diameter: amount("body_diameter") = None
    body_length: amount("body_length") = None
    mounting: choice(MOUNTINGS) = None
    shaft_position: choice(SHAFT_POSITIONS) = None
    enclosure: choice(ENCLOSURES) = None
    insulation_class: choice(CLASSES) = None
    ambient_rating: amount("air_temperature") = None
    bearings: choice(BEARINGS) = None
    drain_plugs: choice(DRAIN_PLUGS) = None
    service: Text = ""
    kind: Text = ""
    drive: Text = ""

    @property
    def rotation_shaft_end(self) -> str | None:
        """The rotation as seen from the shaft end; None when that cannot be known."""
        return from_shaft_end(self.rotation, self.rotation_seen_from)

    @property
    def pole_count(self) -> int | None:
        """The poles on the plate, or those that go with its speed and its (higher) frequency."""
        if self.poles is not None or self.speed_rpm is None or self.frequency is None:
            return self.poles
        return poles_at(self.speed_rpm.high, self.frequency.high)

    @property
    def synchronous_rpm(self) -> float | None:
        """Synchronous speed [rpm] at the (higher) frequency of the plate, or None."""
        if self.frequency is None or self.pole_count is None:
            return None
        return 120 * self.frequency.high / self.pole_count

    @property
    def rated_slip(self) -> float | None:
        """Slip [-] at the rated speed, or None."""
        if self.speed_rpm is None or self.synchronous_rpm is None:
            return None
        return 1 - self.speed_rpm.mid / self.synchronous_rpm

    @property
    def efficiency_times_pf(self) -> tuple[float, float] | None:
        """Lowest and highest efficiency times power factor [-] that the plate allows, or None.

        Volts x amps x efficiency x power factor is the shaft power.
        """
        if self.power is None or self.voltage is None or self.current is None:
            return None
        lines = math.sqrt(3) if self.phase == 3 else 1.0
        least = self.power.low / (lines * self.voltage.high * self.current.high)
        return least, self.power.high / (lines * self.voltage.low * self.current.low)

    def doubts(self):
        return ()

    def contradictions(self) -> Iterator[InputError]:
        yield from self._power_above_input()
        yield from self._speed_against_poles()
        if _less(self.capacitor_voltage, self.voltage):
            accepted = f"at least the line voltage, {self.voltage.text}"
            yield InputError("capacitor voltage", self.capacitor_voltage.text, accepted)
        if _less(self.body_diameter, self.shaft_diameter):
            accepted = f"less than the body diameter, {self.body_diameter.text}"
            yield InputError("shaft diameter", self.shaft_diameter.text, accepted)

    def _power_above_input(self) -> Iterator[InputError]:
        products = self.efficiency_times_pf
        if products and products[0] > 1:
            given = f"{self.power.text} from {self.voltage.text} x {self.current.text}"
            most = self.power.low / products[0]
            yield InputError("power", given, f"less than volts x amps, {most:.0f} W")

    def _speed_against_poles(self) -> Iterator[InputError]:
        if self.speed_rpm is None or self.frequency is None:
            return
        speed, frequency = self.speed_rpm, self.frequency
        given = f"{speed.text} at {frequency.text}"
        if self.poles:
            least, most = 120 * frequency.low / self.poles, 120 * frequency.high / self.poles
            if speed.low >= most or speed.high <= (1 - GREATEST_SLIP) * least:
                accepted = f"above {(1 - GREATEST_SLIP) * least:.0f} and below {most:.0f} rpm, "
                yield InputError("speed", f"{given} of {self.poles} poles", accepted + SYNCHRONOUS)
        elif not any(
            poles_at(rpm, hertz)
            for rpm in (speed.low, speed.high)
            for hertz in (frequency.low, frequency.high)
        ):
            yield InputError("speed", given, f"a speed {_bands(frequency.high)}, {SYNCHRONOUS}")

    def warnings(self) -> list[str]:
        """Sentences about what is possible but unusual, or open to two readings."""
        return [*self._unusual_product(), *self._open_rotation()]

    def _unusual_product(self) -> Iterator[str]:
        low, high = USUAL_EFFICIENCY_TIMES_PF
        products = self.efficiency_times_pf
        if products and products[0] <= 1 and (products[1] < low or products[0] > high):
            yield (
                f"Power / (volts x amps) of the nameplate, efficiency times power factor, is "
                f"{' to '.join(sorted({f'{x:.2f}' for x in products}))}; usual is {low} to {high}: "
                "please read volts, amps and power again."
            )

    def _open_rotation(self) -> Iterator[str]:
        if self.rotation not in (None, REVERSIBLE) and self.rotation_seen_from is None:
            yield (
                f"The rotation is {self.rotation}, but the end it is seen from (shaft end or lead "
                "end) is missing: from the other end it is the opposite."
            )


SYNCHRONOUS = "below the synchronous speed 120 x hertz / poles by a slip of less than 25 %"


def _less(one, other) -> bool:
    """True when both amounts are known and ``one`` is certainly the smaller."""
    return one is not None and other is not None and one.high < other.low


def _bands(frequency: float) -> str:
    """The speeds at which induction motors of 4, 6 and 8 poles turn."""
    speeds = [120 * frequency / poles for poles in (4, 6, 8)]
    return ", ".join(f"{(1 - GREATEST_SLIP) * rpm:.0f}-{rpm:.0f}" for rpm in speeds) + " rpm"

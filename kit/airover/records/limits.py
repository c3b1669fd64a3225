"""Limits of the check table that an engineer may change for a job, in its file's table `[limits]`.

A limit that protects people or the motor can only be made stricter: its usual value is then one end
of its accepted range. Three limits may also be relaxed, within the range in `LIMITS`: full-load
amps (an increase beyond the usual 10 % still gives a note on the branch circuit), capacitance (the
sentence still states the microfarads to install) and airflow. Temperatures of insulation classes,
voltage ranges and ambient ratings are data of the motor and cannot be changed. Usual values are
common practice; no published source, except the capacitor voltage (IEC 60252-1).
"""

from typing import Annotated, NamedTuple

from pydantic import PlainValidator, ValidationInfo

from airover.core.errors import InputError
from airover.core.kinds import KINDS
from airover.core.message import Message, Quantity
from airover.core.units import Amount, quoted, read
from airover.records.fields import Record, in_words


class Limit(NamedTuple):
    """A limit in the SI unit of its ``kind``: its usual value and its accepted range.

    ``relaxed``: True if the accepted range includes less strict values than the usual one.
    """

    kind: str
    usual: float
    low: float
    high: float
    relaxed: bool = False


LIMITS = {
    "full_load_amps": Limit("share", 0.10, 0.02, 0.15, relaxed=True),
    "running_amps": Limit("share", 0.10, 0.0, 0.10),
    "capacitance": Limit("share", 0.03, 0.01, 0.06, relaxed=True),
    "capacitor_voltage": Limit("share", 0.10, 0.0, 0.10),
    "supply_voltage": Limit("share", 0.02, 0.0, 0.02),
    "supply_difference": Limit("share", 0.15, 0.05, 0.15),
    "airflow": Limit("share", 0.95, 0.90, 1.0, relaxed=True),
    "larger_motor": Limit("share", 0.55, 0.05, 0.55),
    "power_margin": Limit("share", 0.0, 0.0, 0.50),
    "torque_margin": Limit("share", 0.0, 0.0, 1.0),
    "winding_margin": Limit("temperature_rise", 0.0, 0.0, 40.0),
    "ambient_excess": Limit("temperature_rise", 10.0, 0.0, 10.0),
    "question_risk": Limit("share", 0.10, 0.01, 0.10),
    "rejection_risk": Limit("share", 0.50, 0.10, 0.50),
    # up to 0.012 in., which is 0.3 mm rounded
    "shaft_clearance": Limit("clearance", 0.0003, 0.0, 0.000305),
    "shaft_length": Limit("clearance", 0.003, 0.0, 0.003),
    "body_length": Limit("clearance", 0.006, 0.0, 0.006),
}

LimitValues = NamedTuple("LimitValues", [(name, float) for name in LIMITS])


def limit(name: str):
    """Return the type of an optional field for the limit ``name``."""
    one = LIMITS[name]
    kind, low, high = one.kind, one.low, one.high

    def validate(value, info: ValidationInfo):
        if value is None:
            return None
        found = read(value.text if isinstance(value, Amount) else value, kind, in_words(info))
        if found.is_range or not low <= found.mid <= high:
            key = "within" if one.relaxed else "only_stricter"
            ends = {"low": Quantity(low, kind), "high": Quantity(high, kind)}
            raise InputError(in_words(info), quoted(found.text), Message(f"limits.{key}", **ends))
        return found

    return Annotated[Amount | None, PlainValidator(validate)]


class ChangedLimit(NamedTuple):
    """A limit ``name`` with another ``value`` than the ``usual`` one [SI unit of ``kind``]."""

    name: str
    value: Amount
    usual: float
    kind: str

    @property
    def message(self) -> Message:
        """The limit, its value and its usual value in words."""
        usual = Quantity(self.usual, self.kind)
        return Message(f"limits.changed.{self.name}", value=self.value, usual=usual)

    @property
    def unit(self) -> str:
        """SI unit of the numbers; "" for a fraction."""
        return KINDS[self.kind].unit


class Limits(Record):
    """Limits of the checks; a limit of None has its usual value.

    Differences as a fraction: ``airflow``: least fraction of the old motor's airflow.

    Margins:

    Probabilities:

    Dimensions [m]:

    Attributes
    ----------
    full_load_amps : Amount or None
        From the old motor's full-load amps.
    running_amps : Amount or None
        Of the expected amps above the motor's full-load amps.
    capacitance : Amount or None
        From the old capacitor.
    capacitor_voltage : Amount or None
        Above the voltage marked on the capacitor.
    supply_voltage : Amount or None
        Beyond the motor's voltage range, for meter error.
    supply_difference : Amount or None
        Of the measured supply from the old nameplate's volts.
    larger_motor : Amount or None
        Above the old power.
    power_margin : Amount or None
        Of the rating above the fan load, as a fraction.
    torque_margin : Amount or None
        Of the breakdown torque above the fan torque at the lowest rated voltage, as a fraction.
    winding_margin : Amount or None
        Of the winding temperature below the limit of its insulation class [K].
    ambient_excess : Amount or None
        Of the air above an ambient rating that is no lower than the old motor's [K].
    question_risk : Amount or None
        Above which a risk gives a question.
    rejection_risk : Amount or None
        Above which it rejects the motor.
    shaft_clearance : Amount or None
        Difference of the shaft diameter from the hub bore.
    shaft_length : Amount or None
        Difference from the old shaft.
    body_length : Amount or None
        Increase over the old body.
    """

    full_load_amps: limit("full_load_amps") = None
    running_amps: limit("running_amps") = None
    capacitance: limit("capacitance") = None
    capacitor_voltage: limit("capacitor_voltage") = None
    supply_voltage: limit("supply_voltage") = None
    supply_difference: limit("supply_difference") = None
    airflow: limit("airflow") = None
    larger_motor: limit("larger_motor") = None
    power_margin: limit("power_margin") = None
    torque_margin: limit("torque_margin") = None
    winding_margin: limit("winding_margin") = None
    ambient_excess: limit("ambient_excess") = None
    question_risk: limit("question_risk") = None
    rejection_risk: limit("rejection_risk") = None
    shaft_clearance: limit("shaft_clearance") = None
    shaft_length: limit("shaft_length") = None
    body_length: limit("body_length") = None

    @property
    def values(self) -> LimitValues:
        """All limits as numbers in SI units."""
        given = ((getattr(self, name), one.usual) for name, one in LIMITS.items())
        return LimitValues(*(usual if one is None else one.mid for one, usual in given))

    def to_dict(self, write) -> list[dict]:
        """Return the changed limits for JSON, numbers in SI units; ``write`` writes a Message."""
        return [
            {"name": one.name, "value": one.value.mid, "usual": one.usual, "unit": one.unit,
             "text": write(one.message)}
            for one in self.changed()
        ]  # fmt: skip

    def changed(self, names=tuple(LIMITS)) -> tuple[ChangedLimit, ...]:
        """Return the limits among ``names`` that differ from their usual values."""
        return tuple(
            ChangedLimit(name, given, LIMITS[name].usual, LIMITS[name].kind)
            for name in names
            if (given := getattr(self, name)) is not None and given.mid != LIMITS[name].usual
        )


USUAL_LIMITS = Limits()

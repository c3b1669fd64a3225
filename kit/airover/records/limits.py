"""Limits for the checks, which an engineer can change for a job.

The limits are in the `[limits]` table of a job file. A limit that protects people or the motor can
only be made stricter, so its default value is at one end of its accepted range. Three limits can
also be relaxed within the range in `LIMITS`: full-load amps (an increase of more than the default
10 % still produces a note about the branch circuit), capacitance (the message still states the
microfarads to install) and airflow. Insulation class temperatures, voltage ranges and ambient
ratings are motor data and cannot be changed. The default values reflect common practice and have no
published source, except the capacitor voltage (IEC 60252-1).
"""

from typing import Annotated, NamedTuple

from pydantic import ValidationInfo

from airover.core.errors import InputError
from airover.core.kinds import KINDS
from airover.core.message import Message, Quantity
from airover.core.units import Amount, quoted, read
from airover.records.fields import Entered, ReadWith, Record, in_words, is_unknown


class Limit(NamedTuple):
    """Limit in the SI unit of its ``kind``, with its default value and accepted range.

    ``relaxed`` is True if the accepted range includes values that are less strict than the default
    value.
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
    "winding_margin": Limit("temperature_difference", 0.0, 0.0, 40.0),
    "ambient_excess": Limit("temperature_difference", 10.0, 0.0, 10.0),
    "question_risk": Limit("share", 0.10, 0.01, 0.10),
    "rejection_risk": Limit("share", 0.50, 0.10, 0.50),
    # up to 0.012 in., which rounds to 0.3 mm
    "shaft_clearance": Limit("clearance", 0.0003, 0.0, 0.000305),
    "shaft_length": Limit("clearance", 0.003, 0.0, 0.003),
    "body_length": Limit("clearance", 0.006, 0.0, 0.006),
}

LimitValues = NamedTuple("LimitValues", [(name, float) for name in LIMITS])
LimitValues.__doc__ = "Limits of the checks as numbers in SI units."


def limit(name: str):
    """Return the type of an optional field for a limit."""
    one = LIMITS[name]
    kind = one.kind

    def validate(value, info: ValidationInfo):
        if is_unknown(value):
            return None
        text = value.text if isinstance(value, Amount) else value
        found = read(text, kind, in_words(info), KINDS[kind].only_unit)
        if found.is_range or not one.low <= found.mid <= one.high:
            key = "within" if one.relaxed else "only_stricter"
            ends = {"low": Quantity(one.low, kind), "high": Quantity(one.high, kind)}
            raise InputError(in_words(info), quoted(found.text), Message(f"limits.{key}", **ends))
        return found

    return Annotated[Amount | None, ReadWith(validate), Entered(kind)]


class ChangedLimit(NamedTuple):
    """Limit that differs from its default value, in the SI unit of its ``kind``."""

    name: str
    value: Amount
    usual: float
    kind: str

    @property
    def message(self) -> Message:
        """Message that states the limit, its value and its default value."""
        usual = Quantity(self.usual, self.kind)
        return Message(f"limits.changed.{self.name}", value=self.value, usual=usual)

    @property
    def unit(self) -> str:
        """SI unit of the values, or "" for a fraction."""
        return KINDS[self.kind].unit


class Limits(Record):
    """Limits for the checks. None means the default value.

    Attributes
    ----------
    full_load_amps : Amount or None
        Maximum difference from the old motor's full-load amps, as a fraction.
    running_amps : Amount or None
        Maximum amount by which the expected amps may exceed the motor's full-load amps, as a
        fraction.
    capacitance : Amount or None
        Maximum difference from the old capacitor's capacitance, as a fraction.
    capacitor_voltage : Amount or None
        Maximum amount by which the voltage may exceed the voltage marked on the capacitor, as a
        fraction.
    supply_voltage : Amount or None
        Maximum deviation outside the motor's voltage range, as a fraction, to allow for meter
        error.
    supply_difference : Amount or None
        Maximum difference between the measured supply voltage and the old nameplate voltage, as a
        fraction.
    airflow : Amount or None
        Minimum airflow, as a fraction of the airflow with the old motor.
    larger_motor : Amount or None
        Maximum amount by which the power may exceed that of the old motor, as a fraction.
    power_margin : Amount or None
        Minimum margin of the rating over the fan load, as a fraction.
    torque_margin : Amount or None
        Minimum margin of the breakdown torque over the fan torque at the lowest rated voltage, as a
        fraction.
    winding_margin : Amount or None
        Minimum margin [K] between the winding temperature and the limit of the insulation class.
    ambient_excess : Amount or None
        Maximum amount [K] by which the air temperature may exceed the ambient rating, if this
        rating is at least as high as that of the old motor.
    question_risk : Amount or None
        Probability above which a risk leads to a question.
    rejection_risk : Amount or None
        Probability above which a risk leads to rejection of the motor.
    shaft_clearance : Amount or None
        Maximum difference [m] between the shaft diameter and the hub bore.
    shaft_length : Amount or None
        Maximum difference [m] from the old shaft length.
    body_length : Amount or None
        Maximum increase [m] over the old body length.
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
        """Return the changed limits for JSON, with numbers in SI units."""
        return [
            {"name": one.name, "value": one.value.mid, "usual": one.usual, "unit": one.unit,
             "text": write(one.message)}
            for one in self.changed()
        ]  # fmt: skip

    def changed(self, names=tuple(LIMITS)) -> tuple[ChangedLimit, ...]:
        """Return the limits that differ from their default values."""
        return tuple(
            ChangedLimit(name, given, LIMITS[name].usual, LIMITS[name].kind)
            for name in names
            if (given := getattr(self, name)) is not None and given.mid != LIMITS[name].usual
        )


USUAL_LIMITS = Limits()

"""Types of quantities that users enter, with their units, accepted ranges and examples."""

import math
from typing import NamedTuple

from airover.core import errors
from airover.core.errors import Range


class Kind(NamedTuple):
    """Type of quantity, with the rules for its input and display.

    Attributes
    ----------
    name : str
        Name of the type, a key under ``kind`` in the message files.
    unit : str
        SI unit in pint notation.
    accepted : Range
        Accepted values in the SI unit.
    words : dict[str, str]
        Pint name of each unit, keyed by its spelling in English or Spanish without spaces and
        periods.
    example : str
        Example of a valid entry.
    us, si : tuple[str, int]
        Unit displayed in US customary or SI units, and its maximum number of decimals.
    several : bool
        True if "208/230 V" is read as two values.
    fractions : bool
        True if "1/3 hp" is read as one value.
    significant : int
        Maximum number of significant digits for a displayed number with decimals.
    rounded : int
        Maximum number of nonzero digits for a displayed whole number.
    large : tuple[float, str, int] or None
        Threshold [SI unit], unit and number of decimals. This unit replaces the US customary unit
        for values at or above the threshold.
    beside : tuple[str, int] or None
        Second unit, displayed in parentheses in US customary units.
    entered : tuple[str, str] or None
        Units that US and SI users type, if different from ``us`` and ``si``.
    """

    name: str
    unit: str
    accepted: Range
    words: dict[str, str]
    example: str
    us: tuple[str, int]
    si: tuple[str, int]
    several: bool = False
    fractions: bool = False
    significant: int = 3
    rounded: int = 4
    large: tuple[float, str, int] | None = None
    beside: tuple[str, int] | None = None
    entered: tuple[str, str] | None = None

    def usual_unit(self, system: str) -> str:
        """Return the unit assumed if a user of ``system`` types a number without a unit."""
        us, si = self.entered or (self.us[0], self.si[0])
        return us if system == "US" else si

    @property
    def only_unit(self) -> str:
        """Unit assumed for a bare number in a file, or "" if two units are common (in. or mm)."""
        us, si = (self.usual_unit(system) for system in ("US", "SI"))
        return us if us == si and self.name not in _TWO_UNITS else ""

    @property
    def is_plain_number(self) -> bool:
        """True if an entry consists only of digits and a decimal point."""
        others = ("voltage", "frequency", "capacitance")  # 208-230, 50/60, 7.5/370
        return self.accepted.low >= 0 and not self.fractions and self.name not in others


_TWO_UNITS = ("duration", "time")  # months or years, seconds or minutes


def _words(**names: str) -> dict[str, str]:
    """Return a dict that maps each word in ``names`` to a pint unit name."""
    return {word: name for name, words in names.items() for word in words.split()}


_LENGTHS = {
    **_words(inch="in inch inches \" '' pulg pulgada pulgadas", foot="ft foot feet ' pie pies"),
    **_words(millimeter="mm millimeter millimeters millimetre millimetres"),
    **_words(centimeter="cm centimeter centimeters centimetre centimetres"),
    **_words(meter="m meter meters metre metres"),
}
_TEMPERATURES = {
    **_words(degF="degF °F F fahrenheit degreesF degreesfahrenheit"),
    **_words(degC="degC °C C celsius degreesC degreescelsius", kelvin="K kelvin"),
}
_RISES = {
    **_words(kelvin="K kelvin kelvins", delta_degF="degF °F F degreesF"),
    **_words(delta_degC="degC °C C degreesC"),
}
_RISES |= {f"{word}{rise}": name for word, name in _RISES.items() for rise in ("rise", "deaumento")}
_FLOWS = {
    **dict.fromkeys(("cfm", "pcm", "ft3/min", "ft^3/min", "cubicfeetperminute"), "foot**3/minute"),
    **dict.fromkeys(("m3/h", "m^3/h", "m3/hr"), "meter**3/hour"),
    **dict.fromkeys(("m3/s", "m^3/s"), "meter**3/second"),
    "l/s": "liter/second",
}
_PRESSURES = _words(
    inH2O='inH2O inwg inwc inchwg incheswg inchwc incheswc incheswater inchesofwater "wg "wc',
    mmH2O="mmH2O mmwg mmwc",
    pascal="Pa pascal pascals",
)
_HEATS = {
    **dict.fromkeys(("Btu/h", "Btuh", "Btu/hr", "Btuperhour"), "Btu_it/hour"),
    **dict.fromkeys(("MBH", "kBtu/h"), "kiloBtu_it/hour"),  # M: Roman numeral for thousand
    **_words(watt="W watt watts vatio vatios", kilowatt="kW kilowatt kilowatts"),
    **_words(ton_of_refrigeration="tons ton TR tonsofrefrigeration tonofrefrigeration toneladas"),
}
_SPEEDS = dict.fromkeys(("rpm", "r/min", "rev/min", "1/min", "min-1"), "rpm")
_TORQUES = {
    **dict.fromkeys(("N m", "Nm", "N*m"), "newton*meter"),
    **dict.fromkeys(("oz-ft", "ft-oz", "ozft"), "ounce_force*foot"),
    **dict.fromkeys(("in-lb", "lb-in", "in-lbs", "inlb"), "pound_force*inch"),
    **dict.fromkeys(("ft-lb", "lb-ft", "ft-lbs", "ftlb"), "pound_force*foot"),
}
_VOLUMES = {
    **dict.fromkeys(("m3", "m^3"), "meter**3"),
    **dict.fromkeys(("ft3", "ft^3", "cuft"), "foot**3"),
    **_words(liter="L l liter liters litre litres"),
}
_DENSITIES = {
    **dict.fromkeys(("kg/m3", "kg/m^3"), "kilogram/meter**3"),
    **dict.fromkeys(("lb/ft3", "lb/ft^3", "lb/cuft"), "pound/foot**3"),
}


def _length(name: str, low: float, high: float, example: str) -> Kind:
    """Return a length type that accepts values from ``low`` to ``high`` [m]."""
    accepted = Range(low, high, "m")
    return Kind(name, "m", accepted, _LENGTHS, example, ("in", 3), ("mm", 1), fractions=True)


def _temperature(accepted: Range) -> Kind:
    shown = ("degF", 0), ("degC", 1)
    return Kind("temperature", "degC", accepted, _TEMPERATURES, "95 degF", *shown)


KINDS: dict[str, Kind] = {
    "voltage": Kind(
        "voltage", "V", errors.VOLTAGE, _words(volt="V VAC V~ volt volts voltsac voltio voltios"),
        "208-230 V", ("V", 0), ("V", 0), several=True,
    ),
    "frequency": Kind(
        "frequency", "Hz", errors.FREQUENCY, _words(hertz="Hz hertz cycles cycle cps"),
        "60 Hz", ("Hz", 1), ("Hz", 1), several=True,
    ),
    "power": Kind(
        "power", "W", Range(1.0, 5000.0, "W"),
        _words(hp="hp horsepower", watt="W watt watts vatio vatios", kilowatt="kW kilowatt kilowatts"),
        "1/3 hp", ("hp", 3), ("W", 0), several=True, fractions=True,
    ),
    "current": Kind(
        "current", "A", Range(0.05, 50.0, "A"), _words(ampere="A amp amps ampere amperes FLA amperio amperios"),
        "2.0 A", ("A", 2), ("A", 2), several=True,
    ),
    "speed": Kind(  # from 100 rpm: "1.075 rpm" is 1075 rpm with a period as thousands separator
        "speed", "rpm", Range(100.0, 5000.0, "rpm"), _SPEEDS,
        "1075 rpm", ("rpm", 0), ("rpm", 0), several=True,
    ),
    "capacitance": Kind(  # the trade uses MF for microfarad, and millifarads are out of range
        "capacitance", "F", Range(0.5e-6, 200e-6, "F"),
        _words(microfarad="uF μF mfd MF microfarad microfarads microfaradios", farad="F farad"),
        "7.5 uF", ("uF", 1), ("uF", 1),
    ),
    "length": _length("length", 0.001, 2.0, "5 5/8 in"),
    "shaft_diameter": _length("shaft_diameter", 0.004, 0.06, "1/2 in"),
    "shaft_length": _length("shaft_length", 0.005, 1.0, "6 in"),
    "body_length": _length("body_length", 0.03, 0.6, "5 5/8 in"),
    "body_diameter": _length("body_diameter", 0.05, 0.5, "5 5/8 in"),
    "blade_diameter": _length("blade_diameter", 0.1, 2.0, "22 in"),
    "temperature": _temperature(errors.TEMP_WINDING),
    "air_temperature": _temperature(errors.TEMP_AIR),
    "temperature_rise": Kind(
        "temperature_rise", "K", Range(0.0, 300.0, "K"), _RISES,
        "17 degF", ("degF", 1), ("K", 1), significant=2,
    ),
    "mass": Kind(
        "mass", "kg", errors.MASS,
        _words(pound="lb lbs pound pounds libra libras", ounce="oz ounce ounces onza onzas", gram="g gram grams",
               kilogram="kg kilogram kilograms"),
        "3.5 lb", ("lb", 2), ("kg", 2), fractions=True,
    ),
    "flow": Kind(
        "airflow", "m3/s", errors.FLOW, _FLOWS, "2400 cfm", ("cfm", 0), ("m3/s", 3), rounded=3,
        entered=("cfm", "m3/h"),
    ),
    "pressure": Kind(
        "pressure", "Pa", errors.PRESSURE_FAN, _PRESSURES,
        "0.25 in. wg", ("in. wg", 3), ("Pa", 0),
    ),
    "film_thickness": Kind(
        "length", "m", Range(0.0, 1e-3, "m"),
        _words(thou="mil mils thou", micrometer="um μm micron microns micra micras", meter="m"),
        "0.4 mil", ("mil", 2), ("um", 0), significant=2,
    ),
    "film_pressure": Kind(
        "pressure", "Pa", Range(0.0, 1e9, "Pa"), _words(psi="psi", kilopascal="kPa", pascal="Pa"),
        "120 psi", ("psi", 0), ("kPa", 0), rounded=3,
    ),
    "heat": Kind(
        "heat_flow", "W", Range(100.0, 200e3, "W"), _HEATS,
        "45,000 Btu/h", ("Btu/h", 0), ("kW", 2), rounded=3,
    ),
    "angle": Kind(
        "angle", "rad", Range(0.0, math.pi / 2, "rad"),
        _words(degree="deg ° degree degrees grados", radian="rad radian radians"),
        "27 deg", ("deg", 0), ("deg", 0),
    ),
    "elevation": Kind(
        "elevation", "m", errors.ELEVATION,
        _words(foot="ft foot feet ' pie pies", meter="m meter meters metre metres"),
        "1150 ft", ("ft", 0), ("m", 0),
    ),
    "density": Kind(
        "density", "kg/m3", errors.DENSITY, _DENSITIES,
        "0.075 lb/ft3", ("lb/ft3", 4), ("kg/m3", 3),
    ),
    "volume": Kind(
        "volume", "m3", Range(1e-5, 100.0, "m3"), _VOLUMES, "12 ft3", ("ft3", 1), ("L", 0),
    ),
    "humidity": Kind(
        "relative_humidity", "", errors.RATIO, {"%": "percent"},
        "50 %", ("%", 0), ("%", 0),
    ),
    "duration": Kind(
        "duration", "month", Range(0.0, 600.0, "month"),
        _words(month="months month mes meses", year="years year yr año años"),
        "12 months", ("months", 0), ("months", 0),
    ),
    "working_time": Kind(
        "working_time", "h", Range(0.0, 100.0, "h"),
        _words(hour="h hr hrs hour hours hora horas", minute="min minute minutes minutos"),
        "2.5 h", ("h", 2), ("h", 2),
    ),
    "resistance": Kind(
        "resistance", "ohm", Range(0.01, 10e3, "ohm"),
        _words(ohm="ohm ohms Ω ohmio ohmios"), "14.2 ohm", ("ohm", 2), ("ohm", 2), significant=4,
    ),
    "hours": Kind(
        "life", "h", Range(0.0, 1e9, "h"), _words(hour="h hr hrs hour hours"),
        "20,000 h", ("h", 0), ("h", 0), rounded=2,
    ),
    "force": Kind(
        "force", "N", Range(0.0, 1e6, "N"),
        _words(pound_force="lbf lb", newton="N newton newtons"), "25 N", ("lbf", 1), ("N", 0),
    ),
    "torque": Kind(
        "torque", "N m", Range(0.0, 1000.0, "N m"),
        _TORQUES, "22 oz-ft", ("oz-ft", 1), ("N m", 2),
        large=(5.0, "in-lb", 0), beside=("N m", 2),
    ),
    "seconds": Kind(
        "time", "s", Range(0.0, 7200.0, "s"),
        _words(second="s sec second seconds segundos", minute="min minute minutes minutos"),
        "20 s", ("s", 0), ("s", 0),
    ),
    "share": Kind("share", "", errors.RATIO, {"%": "percent"}, "30 %", ("%", 0), ("%", 0)),
    "yearly_rate": Kind(  # above 25 %, only the first years affect the life-cycle cost
        "yearly_rate", "", Range(0.0, 0.25, ""),
        dict.fromkeys(("%", "%/year", "%ayear", "%peryear"), "percent"),
        "3 %", ("%", 1), ("%", 1),
    ),
}  # fmt: skip

# Fan load in hp and W. A fraction such as "1/4 hp" would look like a motor rating.
KINDS["shaft_power"] = KINDS["power"]._replace(fractions=False, us=("hp", 2), beside=("W", 0))
KINDS["markup"] = KINDS["share"]._replace(accepted=Range(0.0, 10.0, ""))
KINDS["temperature_difference"] = KINDS["temperature_rise"]  # written without the word "rise"
KINDS["clearance"] = KINDS["length"]._replace(accepted=Range(0.0, 0.1, "m"), example="0.12 in")
# Meter readings have wide ranges, so that doubtful readings are questioned and not rejected.
_SHOWN = {
    "voltage": Range(0.0, 1000.0, "V"),
    "current": Range(0.0, 500.0, "A"),
    "power": Range(0.0, 2e6, "W"),
    "speed": Range(0.0, 30e3, "rpm"),
}
KINDS |= {f"meter_{name}": KINDS[name]._replace(accepted=wide) for name, wide in _SHOWN.items()}
KINDS["meter_capacitance"] = KINDS["capacitance"]._replace(  # for open capacitors
    accepted=Range(0.0, 1e-3, "F"),
    words=KINDS["capacitance"].words | _words(nanofarad="nF nanofarad nanofarads"),
)

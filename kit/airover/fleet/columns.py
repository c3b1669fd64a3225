"""The columns of a table of units: what they mean, and the job that one row is."""

from typing import NamedTuple

from airover.records import Job


class NumberColumn(NamedTuple):
    """A column of numbers: the job's ``part`` and ``field``, the ``unit`` of the numbers, the
    ``kind`` of quantity and what one of them is in SI."""

    part: str
    field: str
    unit: str
    kind: str
    scale: float = 1.0


# What a nameplate tells: few distinct values in many rows.
NAMEPLATE_NUMBERS = {
    "frequency_hz": NumberColumn("nameplate", "frequency", "Hz", "frequency"),
    "power_w": NumberColumn("nameplate", "power", "W", "power"),
    "current_a": NumberColumn("nameplate", "current", "A", "current"),
    "speed_rpm": NumberColumn("nameplate", "speed", "rpm", "speed"),
    "capacitor_uf": NumberColumn("nameplate", "capacitor", "uF", "capacitance", 1e-6),
    "shaft_diameter_mm": NumberColumn("nameplate", "shaft_diameter", "mm", "shaft_diameter", 1e-3),
    "shaft_length_mm": NumberColumn("nameplate", "shaft_length", "mm", "shaft_length", 1e-3),
    "body_length_mm": NumberColumn("nameplate", "body_length", "mm", "body_length", 1e-3),
    "ambient_rating_c": NumberColumn("nameplate", "ambient_rating", "degC", "air_temperature"),
}
WORDS = (
    "rotation", "rotation_seen_from", "frame", "mounting", "shaft_position", "enclosure",
    "insulation_class",
)  # fmt: skip
WHOLE = ("phase", "poles")
NAMEPLATE_VOLTAGE = ("plate_voltage_low_v", "plate_voltage_high_v")
# What a site tells: as many values as rows.
LINE_VOLTAGE = ("line_voltage_low_v", "line_voltage_high_v")
SITE_NUMBERS = {
    "outdoor_temperature_c": NumberColumn("site", "outdoor_temperature", "degC", "air_temperature"),
    "elevation_m": NumberColumn("site", "elevation", "m", "elevation"),
    "humidity_percent": NumberColumn("site", "relative_humidity", "%", "humidity", 0.01),
    "coil_rise_k": NumberColumn("site", "coil_temperature_rise", "K", "temperature_rise"),
    "recirculation_k": NumberColumn("site", "recirculation", "K", "temperature_rise"),
    "airflow_m3h": NumberColumn("site", "airflow", "m3/h", "flow", 1 / 3600),
    "blade_diameter_mm": NumberColumn("blade", "diameter", "mm", "blade_diameter", 1e-3),
}
NUMBERS = NAMEPLATE_NUMBERS | SITE_NUMBERS
# These together are the failed motor as it is simulated; each other column of the nameplate stands
# for itself.
BODY = ("body_length_mm", "insulation_class", "ambient_rating_c")
LENGTHS = ("shaft_diameter_mm", "shaft_length_mm")
ELECTRICAL = (
    *NAMEPLATE_VOLTAGE, *(name for name in NAMEPLATE_NUMBERS if name not in (*LENGTHS, *BODY)), *WHOLE
)  # fmt: skip
NAMEPLATE = (*ELECTRICAL, *BODY)
FLOATS = (*NAMEPLATE_VOLTAGE, *LINE_VOLTAGE, *NUMBERS, *WHOLE)
KNOWN = (
    "unit",
    *NAMEPLATE_VOLTAGE,
    *NAMEPLATE_NUMBERS,
    *WHOLE,
    *WORDS,
    *LINE_VOLTAGE,
    *SITE_NUMBERS,
)
REQUIRED = (
    "unit", "plate_voltage_high_v", "power_w", "current_a", "speed_rpm", "outdoor_temperature_c",
)  # fmt: skip


def job_of(row: dict) -> Job:
    """The job that a ``row`` is: the same facts, amounts with their units. Raises InputError.

    >>> job_of({"unit": "1", "power_w": 250.0, "current_a": 1.9}).nameplate.power.text
    '250.0 W'
    """
    parts = {"nameplate": {}, "site": {}, "blade": {}}
    for name, column in NUMBERS.items():
        if row.get(name) is not None:
            parts[column.part][column.field] = f"{float(row[name])!r} {column.unit}"
    for part, ends in (("nameplate", NAMEPLATE_VOLTAGE), ("site", LINE_VOLTAGE)):
        if volts := _volts(*(row.get(name) for name in ends)):
            parts[part]["voltage"] = volts
    for name in WHOLE:
        if row.get(name) is not None:
            parts["nameplate"][name] = int(row[name]) if row[name] == int(row[name]) else row[name]
    words = {name: row[name] for name in WORDS if row.get(name)}
    return Job(nameplate=parts["nameplate"] | words, site=parts["site"], blade=parts["blade"])


def _volts(low, high) -> str:
    """One reading, or a range; the two columns may stand in either order."""
    given = sorted({float(volts) for volts in (low, high) if volts is not None})
    return "-".join(map(repr, given)) + " V" if given else ""

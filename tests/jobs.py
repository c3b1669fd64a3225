"""The ordinary job and an ordinary motor for it, for tests to vary."""

from dataclasses import replace

from airover.records.catalog import CatalogMotor
from airover.records.job import Job

HORSEPOWER = 745.6999

FACTS = {
    "nameplate": {
        "voltage": "208-230 V",
        "frequency": "60 Hz",
        "phase": 1,
        "power": "1/3 hp",
        "current": "1.9 A",
        "speed": "1075 rpm",
        "capacitor": "7.5 uF",
        "capacitor_voltage": "370 V",
        "rotation": "counterclockwise",
        "rotation_seen_from": "lead end",
        "frame": "48",
        "shaft_diameter": "1/2 in",
        "shaft_length": "5 in",
        "body_length": "5 in",
        "mounting": "through-bolts",
        "shaft_position": "up",
        "enclosure": "totally enclosed air over",
        "insulation_class": "B",
        "ambient_rating": "60 degC",
        "bearings": "sleeve",
    },
    "blade": {"diameter": "22 in", "blades": 3, "mass": "3.5 lb"},
    "site": {
        "outdoor_temperature": "105 degF",
        "elevation": "300 ft",
        "voltage": "232 V",
        "heat": "45000 Btu/h",
        "airflow": "2400 cfm",
        "recirculation": "0 K",
    },
}

MOTOR = CatalogMotor(
    maker="Example Motors T",
    model="test-1",
    kind="permanent split capacitor",
    voltage_low=208.0,
    voltage_high=230.0,
    frequency=60.0,
    phase=1,
    poles=6,
    speed_rpm=1075.0,
    ratings=(HORSEPOWER / 3,),
    currents=(1.9,),
    capacitor=7.5e-6,
    capacitor_voltage=370.0,
    insulation_class="B",
    ambient_rating=60.0,
    bearings="sleeve",
    bearing_bore=None,
    rotation="reversible",
    rotation_seen_from=None,
    frame="48",
    shaft_diameter=0.0127,
    shaft_length=0.127,
    body_diameter=0.142,
    body_length=0.127,
    mass=6.0,
    mounting=("shell holes", "through-bolts"),
    shaft_positions=("up", "down", "horizontal"),
    drain_plugs="both ends",
    enclosure="totally enclosed air over",
    protector="automatic thermal",
    price=90.0,
    currency="USD",
    warranty_from_installation=12.0,
    warranty_from_manufacture=18.0,
)


def job(**changes) -> Job:
    """The ordinary job; ``nameplate__current="2.2 A"`` changes a field, None leaves it out."""
    facts = {table: dict(fields) for table, fields in FACTS.items()}
    for name, value in changes.items():
        table, field = name.split("__")
        facts.setdefault(table, {}).pop(field, None)
        if value is not None:
            facts[table][field] = value
    return Job(name="test", **facts)


def motor(**changes) -> CatalogMotor:
    """The ordinary motor with other facts."""
    return replace(MOTOR, **changes)

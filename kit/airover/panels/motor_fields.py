"""What the panel of one motor asks: the facts of its plate, and readings on it."""

from airover.panels.job_fields import NAMEPLATE

_ASKED = (
    "voltage", "frequency", "power", "current", "speed", "poles", "capacitor",
    "capacitor_voltage", "insulation_class", "ambient_rating",
)  # fmt: skip

PLATE = {"Nameplate": {name: NAMEPLATE["Nameplate"][name] for name in _ASKED}}

READING = {
    "voltage": "236 V",
    "current": "1.85 A",
    "power": "340 W",
    "speed": "1085 rpm",
    "capacitor_voltage": "365 V",
}
READINGS = 3

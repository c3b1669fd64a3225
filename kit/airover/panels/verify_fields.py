"""What the panel of a verified motor asks: readings, ohms, what was seen, the meters."""

from airover.records.found import STARTS
from airover.records.rotation import CLOCKWISE, COUNTERCLOCKWISE, ENDS

READING = {
    "voltage": "236 V",
    "current": "1.85 A",
    "power": "372 W",
    "speed": "1091 rpm",
    "capacitor_voltage": "365 V",
    "capacitor_current": "1.03 A",
    "outdoor_temperature": "95 degF",
    "entering_temperature": "97 degF",
    "motor_air_temperature": "116 degF",
    "leaving_temperature": "116 degF",
    "shell_temperature": "190 degF",
}
WINDING = {
    "cold_resistance": "14.2 ohm",
    "cold_temperature": "75 degF",
    "hot_resistance": ("18.6 ohm", "18.4 ohm"),
    "time_off": ("15 s", "30 s"),
}
METERS = {
    "voltage": "1 % + 2 digits",
    "current": "2 % + 2 digits",
    "power": "3 % + 2 digits",
    "speed": "0.3 % + 2 digits",
    "temperature": "1.5 K",
    "shell": "5 K",
    "resistance": "1 % + 1 digit",
}
SEEN = {
    "start": STARTS,
    "rotation": {CLOCKWISE: (), COUNTERCLOCKWISE: ()},
    "rotation_seen_from": ENDS,
    "capacitor_tolerance": "6 %",
}

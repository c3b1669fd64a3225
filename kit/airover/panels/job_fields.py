"""What a panel asks about a job, by page: each field with an example or the words it accepts."""

from airover.records.rotation import ENDS, SENSES
from airover.records.words import (
    BEARINGS,
    CLASSES,
    DRAIN_PLUGS,
    ENCLOSURES,
    EXPOSURES,
    MOUNTINGS,
    SHAFT_POSITIONS,
)

PHASES = {"1": (), "3": ()}

NAMEPLATE = {
    "Nameplate": {
        "voltage": "208-230 V",
        "frequency": "60 Hz",
        "phase": PHASES,
        "power": "1/3 hp",
        "current": "1.9 A",
        "speed": "1075 rpm",
        "poles": "6",
        "capacitor": "7.5 uF",
        "capacitor_voltage": "370 V",
        "rotation": SENSES,
        "rotation_seen_from": ENDS,
        "frame": "48",
        "enclosure": ENCLOSURES,
        "insulation_class": CLASSES,
        "ambient_rating": "60 degC",
        "bearings": BEARINGS,
        "service": "continuous",
        "kind": "permanent split capacitor",
        "drive": "direct",
    },
    "Old motor": {
        "shaft_diameter": "1/2 in",
        "shaft_length": "6 in",
        "body_diameter": "5 5/8 in",
        "body_length": "5 1/4 in",
        "mounting": MOUNTINGS,
        "shaft_position": SHAFT_POSITIONS,
        "drain_plugs": DRAIN_PLUGS,
    },
}

BLADE = {
    "Blade": {
        "diameter": "22 in",
        "blades": "3",
        "pitch": "27 deg",
        "mass": "3.5 lb",
        "rotation": SENSES,
        "rotation_seen_from": ENDS,
        "bore": "1/2 in",
        "hub_diameter": "2 1/2 in",
        "height_in_orifice": "2 1/4 in",
        "material": "aluminium",
    },
}

SITE = {
    "Site": {
        "outdoor_temperature": "105 degF",
        "outdoor_temperature_min": "20 degF",
        "elevation": "1100 ft",
        "relative_humidity": "30 %",
        "recirculation": "5 degF",
        "coil_temperature_rise": "17 degF",
        "heat": "45000 Btu/h",
        "airflow": "2400 cfm",
        "voltage": "236 V",
        "frequency": "60 Hz",
        "phase": PHASES,
        "exposure": tuple(EXPOSURES),
        "hazardous": "no",
        "max_body_length": "7 in",
        "max_body_diameter": "6 in",
    },
}

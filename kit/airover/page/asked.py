"""What the page asks of a job: its sections, and each field with an example or its words."""

from airover.panels import job_fields

KINDS = ("permanent split capacitor", "shaded pole", "electronically commutated", "two speeds")
_PLATE, _OLD = job_fields.NAMEPLATE["Nameplate"], job_fields.NAMEPLATE["Old motor"]
_LEFT_OUT = ("service", "drive", "kind")  # free words, which no one types on a roof


def _words(names) -> dict[str, tuple]:
    return dict.fromkeys(names, ())


NAMEPLATE = {
    "plate": {name: asked for name, asked in _PLATE.items() if name not in _LEFT_OUT}
    | {"kind": _words(KINDS)},
    "body": _OLD,
}
_BLADE = ("diameter", "blades", "rotation", "rotation_seen_from", "pitch", "mass", "bore",
          "height_in_orifice")  # fmt: skip
BLADE = {"blade": {name: job_fields.BLADE["Blade"][name] for name in _BLADE}}
_SITE = ("voltage", "outdoor_temperature", "elevation", "airflow", "heat", "coil_temperature_rise",
         "recirculation", "relative_humidity", "max_body_length", "max_body_diameter")  # fmt: skip
SITE = {
    "site": {name: job_fields.SITE["Site"][name] for name in _SITE}
    | {"hazardous": _words(("no", "yes"))}
}
# tables and fields of a job file without a field on the page, kept as they are
KEPT = ("note", "invented", "finding", "found", "dates", "ticks")
# the same examples for who reads SI
IN_SI = {"22 in": "560 mm", "3.5 lb": "1.6 kg", "1/2 in": "12.7 mm", "2 1/4 in": "57 mm",
         "105 degF": "41 degC", "1100 ft": "340 m", "2400 cfm": "4100 m3/h",
         "45000 Btu/h": "13 kW", "17 degF": "9 K", "5 degF": "3 K", "7 in": "180 mm",
         "6 in": "150 mm"}  # fmt: skip

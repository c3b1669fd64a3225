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

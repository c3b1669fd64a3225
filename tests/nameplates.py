"""Invented nameplates: their facts, how a maker might print them, and how a camera misreads them."""

import math
import random
from fractions import Fraction

FACTS = {
    "power": ["1/12", "1/10", "1/8", "1/6", "1/5", "1/4", "1/3", "1/2", "3/4"],
    "voltage": ["208-230", "208-230", "200-230", "230", "115", "460", "277", "265"],
    "current": [
        "0.6",
        "0.75",
        ".9",
        "1.0",
        "1.25",
        "1.4",
        "1.9",
        "2.0",
        "2.3",
        "2.8",
        "3.6",
        "4.2",
    ],
    "speed": ["1075", "825", "1140", "1100", "850", "1050", "1625", "1550", "790"],
    "frequency": ["60"],
    "phase": ["1"],
    "poles": ["6", "8", "4"],
    "capacitor": ["3", "4", "5", "7.5", "10", "12.5", "15"],
    "capacitor_voltage": ["370", "440"],
    "rotation": ["CW", "CCW", "REV"],
    "insulation_class": ["A", "B", "F"],
    "ambient_rating": ["40", "60", "70"],
    "frame": ["48", "48Y", "42", "56"],
    "enclosure": ["TEAO", "OPAO"],
    "bearings": ["SLEEVE", "BALL"],
}
OFTEN = ("power", "voltage", "current", "speed")
_POLES = {"6": (900, 1200), "8": (650, 900), "4": (1300, 1800)}

LABELS = {
    "power": ("HP", "HORSEPOWER", "H.P."), "voltage": ("V", "VOLTS", "VAC", "VOLTAGE"),
    "current": ("A", "AMPS", "FLA", "AMP"), "speed": ("RPM", "R/MIN", "RPM"),
    "frequency": ("HZ", "HERTZ", "CYC"), "phase": ("PH", "PHASE"), "poles": ("POLES", "POLE"),
    "ambient_rating": ("AMB", "AMBIENT", "MAX AMB"), "frame": ("FR", "FRAME"),
    "insulation_class": ("CL", "CLASS", "INS", "INS CL"),
}  # fmt: skip
BEFORE_ONLY = ("insulation_class", "frame", "ambient_rating")
EXTRAS = ("MODEL 5K{0}-{1}", "SER {0}{1}", "MFG DATE 0{2}/{0}", "LRA {2}.{2}", "THERMALLY PROTECTED",
          "CONT DUTY", "AIR OVER", "MADE IN NOWHERE", "SF 1.0", "TYPE QX{1}", "P/N {1}-{0}")  # fmt: skip

CONFUSED = {
    "O": "0",
    "0": "O",
    "I": "1",
    "1": "I",
    "L": "1",
    "5": "S",
    "S": "5",
    "8": "B",
    "B": "8",
}


def invent(draw: random.Random) -> dict[str, str]:
    """Facts of one nameplate, by field, as they are printed; some are worn off."""
    facts = {field: draw.choice(values) for field, values in FACTS.items()}
    rpm = int(facts["speed"])
    facts["poles"] = next(poles for poles, (low, high) in _POLES.items() if low < rpm < high)
    watts = 746 * float(Fraction(facts["power"]))
    volts = float(facts["voltage"].split("-")[-1])
    amps = watts / (volts * draw.uniform(0.5, 0.62))
    facts["current"] = draw.choice((f"{amps:.1f}", f"{amps:.2f}", f"{amps:.2f}".removeprefix("0")))
    microfarads = 1e6 * amps / (2 * math.pi * 60 * volts * draw.uniform(1.8, 3.5))
    facts["capacitor"] = min(FACTS["capacitor"], key=lambda one: abs(float(one) - microfarads))
    kept = {field: value for field, value in facts.items()
            if draw.random() < (0.9 if field in OFTEN else 0.5)}  # fmt: skip
    if "capacitor" not in kept:
        kept.pop("capacitor_voltage", None)
    return kept or {"power": facts["power"]}


def expected(facts: dict[str, str]) -> dict[str, str]:
    """What `read_nameplate` should give for ``facts``."""
    units = {"power": " hp", "voltage": " V", "current": " A", "speed": " rpm", "frequency": " Hz",
             "capacitor": " uF", "capacitor_voltage": " V", "ambient_rating": " degC"}  # fmt: skip
    words = {"CW": "clockwise", "CCW": "counterclockwise", "REV": "reversible", "SLEEVE": "sleeve",
             "BALL": "ball", "TEAO": "totally enclosed air over", "OPAO": "open air over"}  # fmt: skip
    found = {
        field: words.get(value, value) + units.get(field, "") for field, value in facts.items()
    }
    return found


def printed(facts: dict[str, str], draw: random.Random) -> str:
    """``facts`` as a nameplate says them, in one of many ways, among other words."""
    style = draw.choice(("label first", "value first", "lines", "tight", "rows"))
    parts = []
    order = [field for field in facts if field != "capacitor_voltage"]
    draw.shuffle(order)
    row = [field for field in OFTEN if field in facts] if style == "rows" else []
    if len(row) > 1:
        order = [field for field in order if field not in row]
    for field in order:
        parts.append(_part(field, facts, style, draw))
    for extra in draw.sample(EXTRAS, draw.randint(0, 3)):
        digits = draw.randint(10, 99), draw.randint(1000, 9999), draw.randint(1, 9)
        parts.insert(draw.randint(0, len(parts)), extra.format(*digits))
    if style == "tight":
        return " ".join(parts)
    joint = "\n" if style in ("lines", "rows") or draw.random() < 0.3 else "  "
    text = joint.join(parts)
    if len(row) > 1:
        labels = " ".join(draw.choice(LABELS[field]) for field in row)
        text = f"{labels}\n{' '.join(facts[field] for field in row)}\n{text}"
    return text


def _part(field: str, facts: dict[str, str], style: str, draw: random.Random) -> str:
    value = facts[field]
    if field == "capacitor":
        return _capacitor(value, facts.get("capacitor_voltage"), draw)
    if field not in LABELS:
        return ("ROT " if field == "rotation" and draw.random() < 0.4 else "") + value
    if field == "ambient_rating":
        value += draw.choice(("C", " C", "\u00b0C"))
    label = draw.choice(LABELS[field])
    if style == "value first" and field not in BEFORE_ONLY:
        return f"{value} {label}" if draw.random() < 0.5 else f"{value}{label}"
    joint = {"lines": ": ", "tight": ""}.get(style, " ")
    return f"{label}{joint if field not in ('insulation_class',) else ' '}{value}"


def _capacitor(value: str, volts: str | None, draw: random.Random) -> str:
    if volts is None:
        return draw.choice(
            ("CAP {0}", "CAP {0} MFD", "{0} UF CAP", "CAPACITOR {0} \u00b5F")
        ).format(value)
    return draw.choice(
        (
            "CAP {0}/{1}",
            "CAP {0} MFD {1}V",
            "{0} MFD/{1} VAC",
            "RUN CAP {0}/{1}V",
            "CAP {0} UF {1} V",
        )
    ).format(value, volts)


def misread(text: str, share: float, draw: random.Random) -> str:
    """``text`` with a ``share`` of the characters that look alike taken for each other."""
    return "".join(
        CONFUSED[one] if one in CONFUSED and draw.random() < share else one for one in text
    )

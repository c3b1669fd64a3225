"""Words and numbers in the forms printed on nameplates.

The patterns apply to text in capitals (`plain_text`), which is either a single field or an entire
nameplate. For an entire nameplate, the patterns also accept characters that are often confused in
photos ("P0LES6"). A single field is typed by a person and must match exactly.
"""

import re
import unicodedata

from airover.core.patterns import Pattern

# Characters in labels and numbers that are often confused in photos.
ALIKE = {"O": "O0Q", "I": "I1L|", "L": "L1I|", "S": "S5", "B": "B8", "Z": "Z2", "G": "G6"}
MEND = str.maketrans("OQILSBZ|", "00115821")
FIGURE = (
    r"(?:(?:[0-9]|(?<![A-Z0-9])[OQILSBZ|](?=[0-9./]))(?:[0-9]|[OQILSBZ|](?![ADEGHJKMNPRTUVWXY]|[CF][A-Z]))*"
    r"(?:\.(?:[0-9]|[OQILSBZ|](?![A-Z]))+)?|\.[0-9]+)"
)
GAP = r"[\s.:=#]*"


def spelled_as(*words: str) -> str:
    """Return a pattern for words that allows similar characters and missing spaces."""

    def one(word: str) -> str:
        return "".join(
            r"[\s.\-]*" if letter == " " else f"[{ALIKE.get(letter, re.escape(letter))}]"
            for letter in word
        )

    return "(?:" + "|".join(map(one, sorted(words, key=len, reverse=True))) + ")"


def labeled(*words: str) -> str:
    """Return a pattern for a label that is not part of a longer word.

    No letter may precede or follow the label, except a letter that may be a misread digit.
    """
    before = r"(?:(?<![A-Z])|(?<=[0-9][OQILSBZ]))"
    return rf"{before}{spelled_as(*words)}(?:(?<![0-9])|(?![0-9.]))(?:\.(?![0-9]))?(?:(?![A-Z])|(?=[OQILSBZ|][0-9/.]))"


def plain_text(text: str) -> str:
    """Return text in capitals, with plain characters and without entries such as "N/A"."""
    rows = text.splitlines()  # rows of a pasted table, with bars between the cells
    text = "\n".join(row.replace("|", " ") if row.count("|") > 2 else row for row in rows)
    for one, other in (("\u00b5", "U"), ("\u03bc", "U"), ("\u00d8", "PH"), ("\u2205", "PH")):
        text = text.replace(one, other)
    text = re.sub("([\u00bc-\u00be\u2150-\u215e])", r" \1", text)
    text = re.sub("[\u2013\u2014\u2212]", "-", text)
    plain = unicodedata.normalize("NFKC", text).replace("\u2044", "/").upper()
    plain = re.sub(r"[\u00b0\u00ba*_\t;\0]|DEG(?:REES)?\.?(?= ?[CF]\b)", " ", plain)
    plain = re.sub(r"(?<=\d),(?=\d{3}(?!\d))", "", plain)  # 1,075
    plain = re.sub(r"(?<=\d),(?=\d)", ".", plain)  # 1,4
    plain = re.sub(r"\b([1-5]\d\d(?:[-/][1-5]\d\d)?)-([13])-([56]0)\b", r"\1/\3/\2", plain)
    plain = re.sub(r"(?<=[A-Z])\.(?=\d+\.\d)|(?<=CAP)\.(?=\d)", " ", plain)  # CAP.7.5
    return re.sub(r"(?<![A-Z0-9])(?:-+|N/?A|NONE|UNKNOWN|\?+)(?![A-Z0-9.])", " ", plain)


PHRASES = (
    ("rotation", "reversible", spelled_as("REVERSIBLE", "REV ROT", "ROT REV", "CW/CCW", "CCW/CW", "REV")),
    ("bearings", "ball", spelled_as("BALL BEARINGS", "BALL BEARING", "BALL BRG", "BRG BALL", "BALL")),
    ("bearings", "sleeve",
     spelled_as("SLEEVE BEARINGS", "SLEEVE BEARING", "SLEEVE BRG", "BRG SLEEVE", "SLEEVE", "SLV BRG", "SLV")),
    ("shaft_position", "up", spelled_as("SHAFT UP", "FLECHA HACIA ARRIBA", "FLECHA ARRIBA")),
    ("shaft_position", "down", spelled_as("SHAFT DOWN", "SHAFT DN", "FLECHA HACIA ABAJO", "FLECHA ABAJO")),
    ("shaft_position", "horizontal", spelled_as("SHAFT HORIZONTAL", "SHAFT HORIZ", "FLECHA HORIZONTAL")),
    ("enclosure", "totally enclosed air over", spelled_as("TOTALLY ENCLOSED AIR OVER", "TEAO")),
    ("enclosure", "open air over", spelled_as("OPEN AIR OVER", "OPAO", "OAO")),
    ("enclosure", "totally enclosed nonventilated", spelled_as("TENV")),
    ("enclosure", "totally enclosed fan cooled", spelled_as("TEFC")),
    ("enclosure", "open drip proof", spelled_as("ODP", "OPEN DRIP PROOF")),
    ("phase", "1", r"(?:SINGLE[\s\-]*PHASE|[1I][\s\-]?PH(?:ASE)?|PH(?:ASE)?[\s.:=]*[1I])(?![0-9])"),
    ("phase", "3", r"(?:THREE[\s\-]*PHASE|3[\s\-]?PH(?:ASE)?|PH(?:ASE)?[\s.:=]*3)(?![0-9])"),
    ("kind", "permanent split capacitor", spelled_as("PERMANENT SPLIT CAPACITOR", "PERM SPLIT CAP", "PSC")),
    ("kind", "ECM", spelled_as("ECM", "BRUSHLESS DC")),
    ("kind", "shaded pole", spelled_as("SHADED POLE")),
)  # fmt: skip
ROTATION = Pattern(
    rf"(?<![A-Z])(?:(?:ROTATION|ROT|DIR){GAP})?"
    r"(?P<sense>COUNTER[\s\-]?CLOCKWISE|CLOCKWISE|C?CW)(?:[\s\-/,(@]|\.(?![0-9]))*"
    r"(?:FACING|FCG|FROM|VIEWED FROM|LOOKING AT)?\s*"
    r"(?P<end>LE(?:AD[\s\-]*END)?|(?:OPP(?:OSITE)?\.?\s*SHAFT[\s\-]*END)|OSE|SHAFT[\s\-]*END|P?[S5]E)?"
    r"(?![A-Z])\)?"
)
ROTATIONS = ("CWLE", "CCWLE", "CWSE", "CCWSE")  # as most nameplates print them
CLASS = Pattern(
    rf"(?<![A-Z0-9])(?:{spelled_as('INSULATION', 'INSUL', 'INS')}?[\s.]*{spelled_as('CLASS', 'CL')}"
    rf"|{spelled_as('INSULATION', 'INSUL', 'INS')})[\s.:=\-]*(?P<value>[ABFH8])(?![A-Z0-9])"
)
SUPPLY = Pattern(
    r"(?P<volts>[1-5][0-9]{2}(?:[-/][1-5][0-9]{2})?)[-/](?P<hertz>[56]0)(?:[-/](?P<phase>[13]))?"
    r"|(?P<phase2>[13])[-/](?P<hertz2>[56]0)[-/](?P<volts2>[1-5][0-9]{2}(?:[-/][1-5][0-9]{2})?)"
)
CAPACITOR_VOLTS = ("250", "330", "370", "400", "415", "440", "450")
_LARGEST_CAPACITOR = 110.0  # uF
_LEAST_OF_COMPRESSOR = 15.0  # uF


def rotation_of(match: re.Match) -> list[str]:
    """Return the rotation and the end from which it is viewed, or "" if not given."""
    sense = "counterclockwise" if match["sense"].startswith(("CC", "COU")) else "clockwise"
    end = match["end"] or ""
    from_lead = end.startswith(("L", "O"))
    return [sense, "lead end" if from_lead else "shaft end" if end else ""]


def supply_of(match: re.Match) -> list[tuple[str, str]]:
    """Return volts, hertz and phases from "200-230/60/1" or "1/60/208-230"."""
    volts = (match["volts"] or match["volts2"]).replace("/", "-")
    facts = [("voltage", f"{volts} V"), ("frequency", f"{match['hertz'] or match['hertz2']} Hz")]
    phase = match["phase"] or match["phase2"]
    return [*facts, ("phase", phase)] if phase else facts


def _capacitor_patterns() -> tuple[Pattern, ...]:
    """Return the patterns for a capacitor.

    The patterns match a label followed by numbers, numbers followed by a unit, a unit followed by
    numbers, or numbers followed by a standard capacitor voltage.
    """
    volts = "(?:" + "|".join(one.replace("0", "[0OQ]") for one in CAPACITOR_VOLTS) + ")"
    label = labeled("RUN CAPACITOR", "CAPACITOR", "RUN CAP", "CAP")
    unit = r"(?:MFD|UF|MF)(?![A-Z])\.?"
    one = rf"(?<![0-9.])(?P<one>{FIGURE})(?:\s?[/+]\s?(?!{volts}(?![0-9.]))(?P<two>{FIGURE}))?"
    rated = (
        rf"(?P<volts>{volts}(?:\s?[-/]\s?{volts})?)"
        r"(?:(?:V(?:AC|OLTS)?|\s+V(?:AC|OLTS)?(?![\s:]*[0-9]))?(?![0-9A-Z]|[/.\-][0-9])"
        r"|V(?:AC|OLTS)?(?=[0-9]{1,2}[A-Z]|(?!AC|OLTS)[A-Z])|(?=V(?:AC|OLTS)?[1-5][0-9]{2}))"  # no space
    )
    behind = rf"(?:[\s/,@X]*(?:V(?:AC|OLTS)?[\s.:]*)?{rated})?"
    patterns = (
        rf"{label}{GAP}{rated}[\s/,]*{one}\s*{unit}",
        rf"(?:{label}{GAP})?(?<![0-9./\-]){one}\s*{unit}{behind}(?:\s*{label})?",
        rf"{label}{GAP}{one}{behind}",
        rf"(?<![A-Z]){unit}{GAP}{one}{behind}",
        rf"(?<![0-9A-Z./\-]){one}\s?/\s?{rated}",
    )
    return tuple(map(Pattern, patterns))


CAPACITORS = _capacitor_patterns()


def capacitor_of(match: re.Match) -> list[str]:
    """Return the microfarads and volts in a match, or an empty list if implausible."""
    figures = [float(one.translate(MEND)) for one in (match["one"], match["two"]) if one]
    if not all(1 <= one <= _LARGEST_CAPACITOR for one in figures):
        return []
    if len(figures) == 2 and (
        max(figures) < _LEAST_OF_COMPRESSOR or min(figures) > max(figures) / 2
    ):
        return []
    volts = max(re.findall("[0-9]{3}", match["volts"].translate(MEND))) if match["volts"] else ""
    return [f"{'/'.join(f'{one:g}' for one in figures)} uF", volts and f"{volts} V"]


def printed_word(field: str, text: str) -> str | None:
    """Return the value of a field for a printed word such as "CL B", or None.

    >>> printed_word("insulation_class", "CL B"), printed_word("enclosure", "OPAO")
    ('B', 'open air over')
    """
    said = plain_text(text).strip()
    if field == "insulation_class":
        found = CLASS.fullmatch(said)
        return found["value"] if found and found["value"] != "8" else None
    return next(
        (value for name, value, form in PHRASES if name == field and re.fullmatch(form, said)), None
    )


def printed_facts(field: str, text: str) -> dict[str, str]:
    """Return the values in an entry that contains values for several fields.

    >>> printed_facts("voltage", "200-230/60/1")
    {'voltage': '200-230 V', 'frequency': '60 Hz', 'phase': '1'}
    >>> printed_facts("rotation", "CCWLE")
    {'rotation': 'counterclockwise', 'rotation_seen_from': 'lead end'}
    >>> printed_facts("capacitor", "45/5/440")
    {'capacitor': '45/5 uF', 'capacitor_voltage': '440 V'}
    """
    said = plain_text(text).strip()
    if field == "voltage" and (found := SUPPLY.fullmatch(said.replace(" ", ""))):
        return dict(supply_of(found))
    if field == "rotation" and (found := ROTATION.fullmatch(said)):
        names = ("rotation", "rotation_seen_from")
        return {name: value for name, value in zip(names, rotation_of(found)) if value}
    if field == "capacitor" and re.match("[0-9.]", said):
        found = next(filter(None, (one.fullmatch(said) for one in CAPACITORS)), None)
        values = capacitor_of(found) if found else []
        names = ("capacitor", "capacitor_voltage")
        return {name: value for name, value in zip(names, values) if value}
    return {}

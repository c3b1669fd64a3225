"""Reader for the complete text of a nameplate, in any order and with misread characters.

The text can be typed, pasted or read from a photo. Words are read first, followed by numbers.
Labels come either before or after their numbers ("HP 1/3 V 208-230" or "1/3 HP 208-230 V"). The
reader selects the order for which more of the numbers are plausible. Characters that are often
confused in photos are read both ways ("P0LES6", "6OC"). A number without a label is read only if
exactly one field accepts it. A field with two different values is left empty. The plausible ranges
in ``_PLAUSIBLE`` reflect common practice and have no published source.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from airover.core.errors import InputError
from airover.core.message import Message
from airover.core.patterns import Pattern
from airover.records.nameplate import Nameplate
from airover.records.printed import (
    CAPACITOR_VOLTS,
    CAPACITORS,
    CLASS,
    FIGURE,
    GAP,
    MEND,
    PHRASES,
    ROTATION,
    SUPPLY,
    capacitor_of,
    labeled,
    plain_text,
    rotation_of,
    supply_of,
)

SURE, LIKELY, CHECK, OPEN = "sure", "likely", "check", "open"
LONGEST = 4000  # characters


@dataclass(frozen=True)
class Found:
    """Nameplate field found in the text.

    Attributes
    ----------
    field : str
        Name of the field.
    value : str
        Value in the text form that `Nameplate` accepts.
    words : str
        Words from which the field was read.
    certainty : str
        Certainty: SURE, LIKELY (characters were corrected, or there was no label), CHECK (the value
        contradicts another field) or OPEN (the values conflict, and none is used).
    others : tuple[str, ...]
        Conflicting values of an open field.
    """

    field: str
    value: str
    words: str
    certainty: str = SURE
    others: tuple[str, ...] = ()


@dataclass(frozen=True)
class NameplateText:
    """Fields found in the text, and the remaining words.

    Attributes
    ----------
    found : tuple[Found, ...]
        Fields found.
    unused : tuple[str, ...]
        Words that were recognized but do not belong to a field of `Nameplate`, such as a model, a
        serial number or a duty.
    left : tuple[str, ...]
        Words that were not recognized.
    """

    found: tuple[Found, ...]
    unused: tuple[str, ...]
    left: tuple[str, ...]

    @property
    def fields(self) -> dict[str, str]:
        """Values by field, as in a `Nameplate` or a job file, except conflicting values."""
        return {one.field: one.value for one in self.found if one.certainty != OPEN}

    def nameplate(self) -> Nameplate:
        """Return the Nameplate. Raises InputError if the fields contradict each other."""
        return Nameplate(**self.fields)


def read_nameplate(text: str) -> NameplateText:
    """Read the text of a nameplate.

    Raises
    ------
    InputError
        If the text is too long or has no nameplate data.

    Examples
    --------
    >>> read_nameplate("HP 1/3 V 208-230 A 1.9 RPM 1075 CAP 7.5/370 CWLE").fields["speed"]
    '1075 rpm'
    """
    if len(text) > LONGEST:
        given = Message("error.amount.too_long", count=len(text))
        raise InputError("nameplate", given, Message("nameplate_text.shorter", count=LONGEST))
    sheet = _Sheet(plain_text(text))
    unused = [words for words, _ in sheet.take(_UNUSED, lambda match: [True])]
    facts = [
        *_phrases(sheet),
        *_dimensions(sheet),
        *_capacitors(sheet),
        *_several_powers(sheet),
        *_numbers(sheet),
    ]
    if not facts:
        accepted = Message("nameplate_text.such_as", example="1/3 HP 208-230 V 1.9 A 1075 RPM")
        raise InputError("nameplate", Message("nameplate_text.nothing"), accepted)
    return NameplateText(tuple(_checked(_merged(facts))), tuple(unused), sheet.left())


class _Sheet:
    """Nameplate text, in which the parts that have been read are replaced by null characters."""

    def __init__(self, text: str):
        self.text = text

    def take(self, pattern: re.Pattern, read) -> Iterator[tuple[str, list]]:
        """Yield the words and the result of ``read`` for each match that has a result."""
        place = 0
        while match := pattern.search(self.text, place):
            found = read(match)
            place = match.end() if found else match.start() + 1
            if found:
                words = " ".join(match[0].split())
                self.blank(*match.span())
                yield words, found

    def blank(self, start: int, end: int) -> None:
        """Mark the characters as read."""
        self.text = self.text[:start] + "\0" * (end - start) + self.text[end:]

    def left(self) -> tuple[str, ...]:
        """Return the words that have not been read."""
        parts = (" ".join(part.split()) for part in re.split("[\0\n]+", self.text))
        return tuple(part for part in parts if re.search("[A-Z0-9]", part))


_UNUSED = Pattern(
    r"(?<![A-Z])(?:"
    r"(?:MODEL|MOD|SERIAL|SER|S/N|P/N|PART|CAT|TYPE|STYLE|SPEC|DATE|CODE|FILE|NO)"
    r"(?:\s*(?:NO|NUMBER|#))?[.:#\s]+(?=[A-Z0-9\-/]*[0-9])[A-Z0-9][A-Z0-9\-/]{2,}"
    r"|(?:LRA|L\.R\.A\.?|RLA|SFA|S\.?F\.?)[.:=\s]*[0-9]*\.?[0-9]+|[0-9.]+ ?(?:LRA|RLA|SFA)\b(?![.:=\s]*[0-9])"
    r"|(?:AUTO(?:MATIC)?\s*)?THERMAL(?:LY)? PROT(?:ECTED|ECTOR|\.)?|IMPEDANCE PROTECTED"
    r"|(?:(?:TIME RATING|DUTY|TIME)[.:\s]*)?\bCONT(?:INUOUS)?\b(?:\s*DUTY)?"
    r"|(?<!OPEN )(?<!ENCLOSED )\bAIR OVER\b|\bMADE IN [A-Z]+|\b(?:FAN |CONDENSER )*MOTOR\b|\bAC\b"
    r"|\b[0-9]{1,2}/[0-9]{1,2}/(?:[0-9]{4}|[0-9]{2})\b(?!/)"
    r")"
)
_FRAME = Pattern(
    r"(?<![A-Z])(?:FRAME|FR)[\s.:=]*(?P<value>[0-9][0-9BS]{1,2}[A-Z]?)(?![A-Z0-9])"
    r"|(?<![A-Z0-9])(?P<before>[0-9]{2,3}[A-Z]{0,2}?) ?(?:FRAME|FR)(?![A-Z])(?![ .:=]*[0-9])"
    r"|(?<![A-Z0-9])(?P<alone>(?:42|48|56)[YZ])(?![A-Z0-9])"
)
_LABELS = {
    "power": labeled("HORSEPOWER", "H.P.", "H P", "HP", "OUTPUT", "POTENCIA"),
    "voltage": labeled("VOLTAGE", "VOLTS", "VOLT", "VAC", "V", "VOLTAJE", "TENSION"),
    "current": labeled(
        "FULL LOAD AMPS",
        "F L AMPS",
        "AMPERES",
        "AMPS",
        "AMP",
        "FLA",
        "F.L.A.",
        "A",
        "CURRENT",
        "CORRIENTE",
        "AMPERAJE",
        "AMPERIOS",
    ),
    "speed": labeled("RPM", "R.P.M.", "R/MIN", "SPEED", "VELOCIDAD"),
    "frequency": labeled("HERTZ", "HZ", "CYCLES", "CYC", "CY", "FREQUENCY", "FREQ", "FRECUENCIA"),
    "poles": labeled("POLES", "POLE", "P"),
    "ambient_rating": labeled(
        "MAX AMBIENT", "MAX AMB", "AMBIENT TEMP", "AMB TEMP", "AMBIENT", "AMB"
    ),
    "watts": labeled("WATTS", "WATT", "W"),
    "kilowatts": labeled("KW"),
}
_ANY_LABEL = Pattern("|".join(f"(?P<{field}>{label})" for field, label in _LABELS.items()))
_MISREAD = r"[OQILSBZ|](?![A-Z0-9])"  # a single-character number, "1/S"
_NUMBER = Pattern(
    rf"(?P<number>(?<![A-Z0-9.]){FIGURE}(?:\s?[-/]\s?(?:{FIGURE}|{_MISREAD})){{0,3}})"
    r"(?:\s?(?P<degree>[CF]))?(?![A-Z])"
)
_PLAUSIBLE = {
    "power": (0.02, 3.0), "voltage": (100, 600), "current": (0.1, 20), "speed": (400, 3600),
    "frequency": (50, 60), "poles": (2, 16), "watts": (15, 2500), "kilowatts": (0.015, 2.5),
}  # fmt: skip
_UNITS = {"power": " hp", "voltage": " V", "current": " A", "speed": " rpm", "frequency": " Hz",
          "poles": "", "watts": " W", "kilowatts": " kW"}  # fmt: skip
_WHOLE = ("voltage", "speed", "frequency", "poles")  # "1158.87790" is two numbers in a photo
_AS_FIELD = {"watts": "power", "kilowatts": "power"}
_AMBIENTS = {"C": (30, 85), "F": (86, 185)}
_USUAL_POWERS = ("1/20", "1/15", "1/12", "1/10", "1/8", "1/6", "1/5", "1/4", "1/3", "1/2", "3/4")
_USUAL_SPEEDS = ((780, 895), (1000, 1175), (1550, 1790), (3300, 3590))  # rpm


def _phrases(sheet: _Sheet) -> Iterator[Found]:
    """Yield fields that are written as words, such as rotation and insulation class."""
    for field, value, pattern in PHRASES:
        pattern = re.compile(rf"(?<![A-Z0-9])(?:{pattern})(?![A-Z])")
        for words, _ in sheet.take(pattern, lambda match: [True]):
            yield Found(field, value, words)
    for words, (sense, end) in sheet.take(ROTATION, rotation_of):
        yield Found("rotation", sense, words)
        if end:
            yield Found("rotation_seen_from", end, words)
    for words, (value,) in sheet.take(CLASS, lambda match: [match["value"]]):
        yield Found(
            "insulation_class", value.replace("8", "B"), words, LIKELY if value == "8" else SURE
        )
    for words, (value,) in sheet.take(
        _FRAME, lambda match: [match["value"] or match["before"] or match["alone"]]
    ):
        mended = re.sub("(?<=[0-9])[BS](?=[A-Z0-9])", lambda one: one[0].translate(MEND), value)
        yield Found("frame", mended, words, SURE if mended == value else LIKELY)


_INCHES = r"(?:(?:[0-9]+[ -])?[0-9]+/(?:2|4|8|16|32)(?![0-9])|[0-9]*\.?[0-9]+)"
_DIMENSIONS = Pattern(
    r"(?<![A-Z])(?P<part>SHAFT|SHFT|FLECHA|BODY|SHELL|CUERPO)(?:\s*DIA(?:METER|METRO|M)?)?(?:[\s:=]|\.(?![0-9]))*"
    rf"(?P<diameter>{_INCHES})\s*(?P<unit>MM|IN(?:CH(?:ES)?)?\.?|\"|'')?(?:\s*DIA(?:METER|METRO|M)?\.?)?"
    rf"(?:\s*[X,]\s*(?P<length>{_INCHES})\s*(?P<unit2>MM|IN(?:CH(?:ES)?)?\.?|\"|'')?"
    r"(?:\s*L(?:ONG|ENGTH|G)?(?![A-Z])\.?)?)?(?![0-9/A-Z])"
)
_SHAFTS = {"diameter": (0.2, 1.0), "length": (0.5, 14)}  # in
_BODIES = {"diameter": (2.5, 9), "length": (2, 12)}  # in


def _dimensions(sheet: _Sheet) -> Iterator[Found]:
    """Yield measured dimensions of the shaft and the body, such as "SHAFT 1/2 X 6"."""
    for words, found in sheet.take(_DIMENSIONS, _dimension):
        yield from (Found(field, value, words) for field, value in found)


def _dimension(match: re.Match) -> list[tuple[str, str]]:
    """Return the fields and values in a match, or [] if a value is implausible."""
    unit = "mm" if "MM" in (match["unit"], match["unit2"]) else "in"
    shaft = match["part"] in ("SHAFT", "SHFT", "FLECHA")
    found = []
    for side, (least, most) in (_SHAFTS if shaft else _BODIES).items():
        if match[side]:
            inches = sum(Fraction(one) for one in re.split("[ -]", match[side]))
            inches = inches / Fraction("25.4") if unit == "mm" else inches
            if not least <= inches <= most:
                return []
            part = "shaft" if shaft else "body"
            found.append((f"{part}_{side}", f"{match[side].replace('-', ' ')} {unit}"))
    return found


_BEHIND_LABEL = Pattern(rf"(?:{'|'.join(_LABELS.values())}){GAP}$")


def _capacitors(sheet: _Sheet) -> Iterator[Found]:
    """Yield the microfarads and volts of a run capacitor, such as "CAP 7.5/370"."""
    for number, pattern in enumerate(CAPACITORS):
        certainty = LIKELY if pattern is CAPACITORS[-1] else SURE
        for words, (value, volts) in sheet.take(
            pattern, lambda one, n=number: _capacitor(one, n, sheet)
        ):
            yield Found("capacitor", value, words, certainty)
            if volts:
                yield Found("capacitor_voltage", volts, words, certainty)


def _capacitor(match: re.Match, number: int, sheet: _Sheet) -> list:
    """Return the microfarads and volts in a match, or an empty list if implausible."""
    bare = number == 1 and "CAP" not in match[0] and not match["volts"]
    labeled = bare and _BEHIND_LABEL.search(sheet.text[: match.start()])
    if labeled and re.match(rf"{GAP}{FIGURE}", sheet.text[match.end() :]):
        return []  # in "A 1.9 MFD 7.5", the number belongs to the label
    return capacitor_of(match)


@dataclass
class _Token:
    """Label or number in the text."""

    start: int
    end: int
    text: str
    field: str = ""
    degree: str = ""
    taken: bool = False


_POWERS = Pattern(
    r"(?:H\.? ?P\.?[\s.:=]*)?(?<![0-9/])(?P<all>[1-3]/[0-9]{1,2}(?:\s?[-,&]\s?[1-3]/[0-9]{1,2})+)(?![0-9/])(?:\s*H\.?P\.?)?"
)


def _several_powers(sheet: _Sheet) -> Iterator[Found]:
    """Yield the horsepower ratings of a multi-rating motor, such as "1/3-1/4-1/5 HP"."""
    for words, powers in sheet.take(_POWERS, lambda one: re.findall("[0-9/]+", one["all"])):
        yield from (Found("power", f"{power} hp", words) for power in powers)


def _numbers(sheet: _Sheet) -> Iterator[Found]:
    """Yield the fields from numbers with labels, and then from numbers without labels."""
    labels = [_Token(*one.span(), one[0], one.lastgroup) for one in _ANY_LABEL.finditer(sheet.text)]
    bare = sheet.text
    for one in labels:
        bare = bare[: one.start] + "\0" * (one.end - one.start) + bare[one.end :]
    numbers = [
        _Token(*one.span(), one["number"], "", one["degree"] or "")
        for one in _NUMBER.finditer(bare)
    ]
    tokens = sorted((*labels, *numbers), key=lambda one: one.start)
    found = list(_paired(tokens))
    known = {field for field, *_ in found}
    for one in tokens:
        if not one.field and not one.taken:
            for field, value in _alone(one, known):
                found.append((field, value, (one,), LIKELY))
                one.taken = True
    for field, value, used, certainty in found:
        start, end = min(one.start for one in used), max(one.end for one in used)
        words = " ".join(sheet.text[start:end].replace("\0", " ").split())
        mended = any(not one.field and _mended(one.text) != one.text for one in used)
        yield Found(field, value, words, LIKELY if mended else certainty)
    known = {field for field, *_ in found}
    for one in tokens:
        if one.taken or one.field in known:  # "CURRENT 1.4 A" has two labels
            sheet.blank(one.start, one.end)


def _paired(tokens: list[_Token]) -> Iterator[tuple]:
    """Yield the field, the value and the tokens for each label that has a number."""
    yield from _rows(tokens)
    behind, before = _beside(tokens, 1), _beside(tokens, -1)
    ways = (1, -1) if len(behind) >= len(before) else (-1, 1)
    for way in ways:
        for label, number, facts in _beside(tokens, way):
            if not label.taken and not number.taken:
                label.taken = number.taken = True
                yield from ((field, value, (label, number), SURE) for field, value in facts)


def _beside(tokens: list[_Token], way: int) -> list[tuple]:
    """Return the labels, each with the number after it (``way`` 1) or before it (-1).

    A label is returned only if the number is valid for it.
    """
    pairs = (
        pairwise(tokens) if way == 1 else ((label, number) for number, label in pairwise(tokens))
    )
    return [
        (label, number, facts)
        for label, number in pairs
        if label.field and not number.field and not label.taken and not number.taken
        and abs(number.start - label.end if way == 1 else label.start - number.end) < _WITHIN
        and (facts := _facts(label.field, number))
    ]  # fmt: skip


_WITHIN = 12  # characters between a label and its number


def _rows(tokens: list[_Token]) -> Iterator[tuple]:
    """Yield the fields for a row of labels above a row that has a number for each label."""
    kinds = "".join("L" if one.field else "N" for one in tokens)
    for match in re.finditer(r"(L{2,})(N{2,})", kinds):
        labels, numbers = (
            tokens[match.start(1) : match.end(1)],
            tokens[match.start(2) : match.end(2)],
        )
        if len(labels) == len(numbers):
            facts = [_facts(label.field, number) for label, number in zip(labels, numbers)]
            if all(facts):
                for label, number, found in zip(labels, numbers, facts):
                    label.taken = number.taken = True
                    yield from ((field, value, (label, number), SURE) for field, value in found)


def _mended(text: str) -> str:
    return re.sub(r"\s", "", text).translate(MEND)


def _facts(field: str, number: _Token) -> list[tuple[str, str]]:
    """Return the fields and values for a number with a label, or [] if implausible."""
    text = _mended(number.text)
    if field == "ambient_rating":
        return _ambient(text, number.degree)
    if number.degree:
        return []
    if field in ("voltage", "frequency", "phase") and (supply := SUPPLY.fullmatch(text)):
        return supply_of(supply)
    if field == "power" and re.fullmatch(r"[0-9]{1,2}/[0-9]{1,2}|1[- ]1/[0-9]", text):
        top, bottom = map(int, text.split("-")[-1].split("/"))
        return [("power", f"{text} hp")] if 0 < top < bottom <= 20 else []
    parts = re.split("[-/]", text)
    least, most = _PLAUSIBLE[field]
    figures = [float(one) for one in parts if one]
    if len(figures) != len(parts) or not all(least <= one <= most for one in figures):
        return []
    if field == "poles" and (len(parts) > 1 or figures[0] % 2):
        return []
    if field in _WHOLE and not all(map(str.isdigit, parts)):
        return []
    if field == "frequency" and not {*figures} <= {50.0, 60.0}:
        return []
    name, unit = _AS_FIELD.get(field, field), _UNITS[field]
    if field in ("speed", "power") or max(figures) > _WIDEST * min(figures):
        return [(name, one + unit) for one in parts]  # 1075/825 rpm or 115/230 V: ambiguous
    span = "-".join(sorted(parts, key=float))
    return [(name, span + unit)] if len(parts) < 3 else []


_WIDEST = 1.4  # maximum ratio of two volts or amps for one supply, 208-230 V


def _ambient(text: str, degree: str) -> list[tuple[str, str]]:
    if not re.fullmatch(r"[0-9]+(?:\.[0-9]+)?", text):
        return []
    for unit, (least, most) in _AMBIENTS.items():
        if degree in ("", unit) and least <= float(text) <= most:
            return [("ambient_rating", f"{text} deg{unit}")]
    return []


def _alone(number: _Token, known: set[str]) -> list[tuple[str, str]]:
    """Return the field and value for a number that exactly one field accepts."""
    text = _mended(number.text)
    if number.degree:
        return _ambient(text, number.degree) if "ambient_rating" not in known else []
    if supply := SUPPLY.fullmatch(text):
        return supply_of(supply) if "voltage" not in known else []
    if text in _USUAL_POWERS and "power" not in known:
        return [("power", f"{text} hp")]
    if re.fullmatch(r"[1-5][0-9]{2}[-/][1-5][0-9]{2}", text) and "voltage" not in known:
        return _facts("voltage", number)
    usual = text.isdigit() and any(low <= int(text) <= high for low, high in _USUAL_SPEEDS)
    return [("speed", f"{text} rpm")] if usual and "speed" not in known else []


def _merged(facts: list[Found]) -> list[Found]:
    """Return a Found for each field. A field with conflicting values is left blank."""
    by_field: dict[str, list[Found]] = {}
    for one in facts:
        same = by_field.setdefault(one.field, [])
        if one.value not in [other.value for other in same]:
            same.append(one)
    merged = []
    for same in by_field.values():
        first, *others = same
        if others:
            words = "; ".join(dict.fromkeys(one.words for one in same))
            values = tuple(one.value for one in others)
            first = Found(first.field, first.value, words, OPEN, values)
        merged.append(first)
    return merged


def _checked(found: list[Found]) -> list[Found]:
    """Return the fields, marked CHECK if a combination of values is implausible."""
    taken = {one.field: one.value for one in found if one.certainty != OPEN}
    try:
        doubts = {field for doubt in Nameplate(**taken).doubts() for field in doubt.fields}
    except InputError as error:
        doubts = {str(one.field).replace(" ", "_") for one in (error, *error.others)}
    if taken.get("voltage", "").removesuffix(" V") in CAPACITOR_VOLTS and (
        "capacitor" in taken and "capacitor_voltage" not in taken
    ):
        doubts.add("voltage")  # probably the voltage of the capacitor
    return [
        replace(one, certainty=CHECK) if one.field in doubts and one.certainty != OPEN else one
        for one in found
    ]

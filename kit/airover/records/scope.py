"""Detection of jobs that are outside the scope of this method.

The method covers single-phase, single-speed motors with a run capacitor that drive a fan directly
in an outdoor air-conditioning unit. The check uses the phase, speed, enclosure, voltage and free
text (kind, service, drive) from the nameplate, and the temperature, elevation, frequency and
hazardous location of the site. The job's name and note are ignored, because they may mention other
equipment.

A word is ignored if it is negated in the same clause, either before the word ("no belt", "not for
hazardous locations") or after it ("belt: none"). "indoor" and "blower" are ignored if the text also
contains "condenser" or "outdoor unit". The check does not recognize misspelled words, motors that
are identified only by a model number, or a negation in another sentence ("Belt? Not here."). The
check also does not recognize that a word refers to another motor. For example, "replaces a
three-phase motor" is treated as three-phase. A three-phase supply is accepted, because a
single-phase motor can be connected to two of its lines.
"""

import re
from collections.abc import Iterator
from typing import NamedTuple

from airover.core.errors import InputError, either, with_others
from airover.core.message import Message
from airover.core.units import Amount, quoted, show
from airover.records.job import Job, Site
from airover.records.nameplate import Nameplate

# limits of the correlations and constants (common practice; no published source)
HIGHEST_SITE = 3500.0  # [m]
HOTTEST_OUTDOOR = 60.0  # [degC]
COLDEST_OUTDOOR = -40.0  # [degC]
HIGHEST_VOLTAGE = 600.0  # [V]
LINE_FREQUENCIES = ((49.0, 51.0), (59.0, 61.0))  # [Hz]
TWO_SPEEDS = 1.06  # ratio above which a speed range represents two speeds


class Pattern(NamedTuple):
    """Pattern for a case that is outside the scope.

    The case is recognized if one of the free-text fields matches ``said`` and none matches
    ``unless``. ``subject`` and ``accepted`` are message keys.
    """

    subject: str
    accepted: str
    said: str
    unless: str = r"(?!)"


THREE_PHASE = Pattern(
    "three_phase",
    "single_phase",
    r"(?:three|3) ?ph(?:ase)?|polyphase|3 ?[\u03c6~]",
    unless=r"(?:single|one|1) ?ph(?:ase)?",
)
SEVERAL_SPEEDS = Pattern(
    "several_speeds",
    "one_speed",
    r"(?:two|2|three|3|four|4|multi|multiple|several|dual) ?speeds?",
)
HAZARDOUS = Pattern(
    "hazardous",
    "ordinary",
    r"hazardous|explosion ?proof|explosive|flame ?proof|atex"
    r"|class (?:i{1,3}|[123]) (?:div(?:ision)?|zone|group)",
)
PATTERNS = (
    THREE_PHASE,
    SEVERAL_SPEEDS,
    HAZARDOUS,
    Pattern(
        "electronic",
        "on_line",
        r"ecm|ec (?:motor|fan)|electronical{1,2}y commutated|electronic commutation|brushless|bldc"
        r"|variable (?:speed|frequency)|inverter(?: driven| duty)?|vfd|dc motor|constant torque",
    ),
    Pattern("belt", "own_shaft", r"(?:v )?belts?|belted|sheaves?"),
    Pattern(
        "indoor",
        "outdoor_fan",
        r"indoors?|blowers?|furnace|air handlers?|fan coils?|evaporator fan",
        unless=r"condens\w+|outdoor (?:fan|coil|section|motor|unit)",
    ),
    Pattern(
        "no_capacitor",
        "run_capacitor",
        r"shaded ?poles?|split phase|repulsion|universal motor|series wound|brushed motor"
        r"|wound rotor|(?:no|without)(?: an?| any)?(?: run)? capacitor(?! \w)",
        unless=r"permanent|psc",
    ),
    Pattern(
        "start_capacitor",
        "run_capacitor",
        r"capacitor start|cap start|start capacitor",
        unless=r"capacitor run|run capacitor|permanent|psc",
    ),
)
_DENIED_BEFORE = re.compile(
    r"\b(?:(?:not|never|isn'?t|excluding)(?: [\w']+){0,4}"
    r"|(?:no|without|nor)(?: [\w']+){0,2}|non) ?$"
)
_DENIED_AFTER = re.compile(
    r"(?: (?:drive|motor|locations?))?(?: ?[:=] ?(?:no|none|not)\b| (?:no|none)$)"
)
_ORDINARY_PLACE = re.compile(
    r"|no|none|false|ordinary|unclassified|(?:no|not|non)\b.*\b(?:hazard|classif|explos)\w*.*"
)


def suits() -> Message:
    """Return the scope of this method as a sentence."""
    return Message("scope.suits")


def refusals(job: Job) -> list[InputError]:
    """Return all the reasons why this method does not cover a job, or an empty list."""
    return list(_refused(job))


def check_scope(job: Job) -> None:
    """Raise InputError if a job is outside the scope of this method.

    The error states the first reason, with any other reasons attached.
    """
    if found := refusals(job):
        raise with_others(*found)


def _affirmed(text: str, words: str) -> bool:
    """Return True if any clause in the text contains the words without a negation."""
    return any(
        not _DENIED_BEFORE.search(clause[: match.start()])
        and not _DENIED_AFTER.match(clause[match.end() :])
        for clause in _clauses(text)
        for match in re.finditer(rf"(?<!\w)(?:{words})(?!\w)", clause)
    )


def _clauses(text: str) -> list[str]:
    """Return the clauses of ``text`` in lower case, with hyphens replaced by spaces.

    "Class I, Division 1" is a single clause.
    """
    plain = re.sub(r"[-_\u2010-\u2014\s]+", " ", text.lower())
    plain = re.sub(r"\b(class (?:i{1,3}|[123])), ", r"\1 ", plain)
    return [part.strip() for part in re.split(r"[,;.()]| but ", plain)]


def _refused(job: Job) -> Iterator[InputError]:
    nameplate = job.nameplate
    if nameplate.phase == 3:
        yield _outside("nameplate phase", "3", THREE_PHASE)
    yield from _said(nameplate)
    yield from _speeds(nameplate)
    if nameplate.enclosure == "explosion proof":
        yield _outside("nameplate enclosure", quoted(nameplate.enclosure), HAZARDOUS)
    for name, volts in (
        ("nameplate voltage", nameplate.voltage),
        ("site voltage", job.site.voltage),
    ):
        yield from _above(name, volts, HIGHEST_VOLTAGE, "voltage")
    yield from _frequency("nameplate frequency", nameplate.frequency)
    yield from _place(job.site)


def _said(nameplate: Nameplate) -> Iterator[InputError]:
    """Yield errors for free text that describes equipment outside the scope.

    An exception can be stated in any of the free-text fields.
    """
    texts = {name: getattr(nameplate, name) for name in ("kind", "service", "drive")}
    if not any(texts.values()):
        return
    for pattern in PATTERNS:
        excused = any(_affirmed(text, pattern.unless) for text in texts.values())
        for name, text in texts.items():
            if not excused and _affirmed(text, pattern.said):
                yield _outside(f"nameplate {name}", quoted(text), pattern)


def _speeds(nameplate: Nameplate) -> Iterator[InputError]:
    """Yield an error for two speeds on a nameplate that has a single frequency."""
    speed, frequency = nameplate.speed_rpm, nameplate.frequency
    frequencies = frequency is not None and frequency.is_range
    if speed is not None and not frequencies and speed.high > TWO_SPEEDS * speed.low:
        yield _outside("nameplate speed", quoted(speed.text), SEVERAL_SPEEDS)


def _place(site: Site) -> Iterator[InputError]:
    """Yield errors for a hazardous location and for a site outside the range of the models."""
    told = " ".join(str(site.hazardous or "").lower().replace("-", " ").split())
    if not _ORDINARY_PLACE.fullmatch(told):
        yield _outside("site hazardous", quoted(site.hazardous), HAZARDOUS)
    yield from _above("site elevation", site.elevation, HIGHEST_SITE, "elevation")
    hottest = site.outdoor_temperature
    yield from _above("site outdoor temperature", hottest, HOTTEST_OUTDOOR, "air_temperature")
    coldest = site.outdoor_temperature_min
    if coldest is not None and coldest.low < COLDEST_OUTDOOR:
        limit = _both(COLDEST_OUTDOOR, "air_temperature")
        accepted = Message("error.scope.warmer", limit=limit)
        yield InputError("site outdoor temperature min", quoted(coldest.text), accepted)
    yield from _frequency("site frequency", site.frequency)


def _above(field: str, amount: Amount | None, limit: float, kind: str) -> Iterator[InputError]:
    if amount is not None and amount.high > limit:
        accepted = Message("error.scope.beyond", limit=_both(limit, kind))
        yield InputError(field, quoted(amount.text), accepted)


def _both(value: float, kind: str) -> Message | str:
    """Return a value in both unit systems, or only once if both are the same."""
    return either(dict.fromkeys((show(value, kind, "US"), show(value, kind, "SI"))))


def _frequency(field: str, frequency: Amount | None) -> Iterator[InputError]:
    ends = () if frequency is None else (frequency.low, frequency.high)
    if any(not any(low <= end <= high for low, high in LINE_FREQUENCIES) for end in ends):
        yield InputError(field, quoted(frequency.text), either(("50 Hz", "60 Hz")))


def _outside(field: str, given: str, pattern: Pattern) -> InputError:
    subject = Message(f"error.scope.subject.{pattern.subject}")
    accepted = Message(f"error.scope.accepted.{pattern.accepted}")
    outside = Message("error.scope.outside", accepted=accepted, subject=subject)
    return InputError(field, given, outside)

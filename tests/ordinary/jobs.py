"""Ordinary jobs as data: the tables of a job file, and what to expect of the answer."""

import csv
import io
import itertools
import random
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property
from typing import NamedTuple

SIZES = ("1/12", "1/10", "1/8", "1/6", "1/5", "1/4", "1/3", "1/2", "3/4", "1")
SEED = 18


class Expect(NamedTuple):
    """A judge of ``score.py`` by its name, what it compares with, and the reason."""

    what: str
    value: object
    reason: str


ALWAYS = (
    Expect("answers", None, "An ordinary nameplate is never bad input."),
    Expect("refusal is true", None, "A refusal compares a number with a limit that it misses."),
    Expect("refusal in words", None, "A refusal prints the number and the limit it compared."),
)


@dataclass(frozen=True)
class OrdinaryJob:
    """A job in one line (``title``), its ``tables`` as typed, and its expectations.

    ``neighbors`` are the same job with one small change each: words, tables and seed.
    """

    kind: str
    title: str
    tables: dict
    expect: tuple[Expect, ...]
    neighbors: tuple[tuple[str, dict, int], ...] = field(default=())


def changed(tables: dict, **changes) -> dict:
    """Return ``tables`` with other fields: ``site__voltage="236 V"``; None leaves a field out."""
    tables = {table: dict(fields) for table, fields in tables.items()}
    for name, value in changes.items():
        table, key = name.split("__")
        tables.setdefault(table, {}).pop(key, None)
        if value is not None:
            tables[table][key] = value
    return {table: fields for table, fields in tables.items() if fields}


# The catalog, as its file prints it.


@dataclass(frozen=True)
class CatalogMotor:
    """One line of the catalog file: ``cells`` by heading, empty where a fact is missing."""

    cells: dict

    def parts(self, heading: str) -> list[str]:
        return [part.strip() for part in self.cells[heading].split(";") if part.strip()]

    def number(self, heading: str) -> float | None:
        text = self.cells[heading]
        return float(Fraction(text)) if text else None

    @property
    def name(self) -> str:
        return f"{self.cells['maker']} {self.cells['model']}"

    @property
    def volts(self) -> tuple[float, float]:
        """Lowest and highest rated voltage [V]."""
        return ends(self.cells["voltage [V]"])

    @property
    def limits(self) -> tuple[float, float]:
        """Supply voltage [V] that the rating allows, +-10 % (NEMA MG 1, from memory)."""
        low, high = self.volts
        return 0.9 * low, 1.1 * high

    @property
    def hertz(self) -> float:
        return self.number("frequency [Hz]")

    @property
    def poles(self) -> int:
        return int(self.cells["poles"])

    @cached_property
    def ratings(self) -> list[str]:
        """Horsepower of each rating, as printed."""
        return self.parts("ratings [hp]")

    @cached_property
    def amps(self) -> list[float]:
        return [float(text) for text in self.parts("currents [A]")]

    @property
    def ambient(self) -> float | None:
        """Ambient rating [degC]."""
        return self.number("ambient rating [degC]")

    @property
    def position(self) -> str | None:
        """A shaft position that the motor allows, with a drain at the low end where it has one."""
        allowed = self.parts("shaft positions")
        dry = {"shaft end": "down", "lead end": "up"}.get(self.cells["drain plugs"])
        return dry if dry in allowed else (allowed or [None])[0]

    def amps_at(self, horsepower: float) -> float | None:
        """Full-load amps at a rating, None where the motor has no rating of ``horsepower``."""
        for text, amps in zip(self.ratings, self.amps, strict=True):
            if same_size(float(Fraction(text)), horsepower):
                return amps
        return None

    def electrical(self, rating: int) -> dict:
        """The electrical part of the nameplate at one of the ratings."""
        cells = self.cells
        return known(
            kind=cells["kind"],
            voltage=f"{cells['voltage [V]']} V",
            frequency=f"{cells['frequency [Hz]']} Hz",
            phase=int(cells["phase"]),
            power=f"{self.ratings[rating]} hp",
            current=f"{self.amps[rating]:g} A",
            speed=f"{cells['speed [rpm]']} rpm",
            poles=self.poles,
            capacitor=unit(cells["capacitor [uF]"], "uF"),
            capacitor_voltage=unit(cells["capacitor voltage [V]"], "V"),
            insulation_class=cells["insulation class"],
            ambient_rating=unit(cells["ambient rating [degC]"], "degC"),
            bearings=cells["bearings"],
        )

    def mechanical(self) -> dict:
        """The mechanical part of the nameplate, mounted the first way that the motor offers."""
        cells = self.cells
        return known(
            rotation=cells["rotation"],
            rotation_seen_from=cells["rotation seen from"],
            frame=cells["frame"],
            shaft_diameter=unit(cells["shaft diameter [in]"], "in"),
            shaft_length=unit(cells["shaft length [in]"], "in"),
            body_diameter=unit(cells["body diameter [in]"], "in"),
            body_length=unit(cells["body length [in]"], "in"),
            mounting=(self.parts("mounting") or [None])[0],
            shaft_position=self.position,
            enclosure=cells["enclosure"],
            drain_plugs=cells["drain plugs"],
        )

    def suits_circuit(self, volts: str, hertz: float, poles: int) -> bool:
        """Return True for one phase, that frequency and number of poles, and volts in reach."""
        low, high = ends(volts)
        near = self.limits[0] <= high and low <= self.limits[1]
        return near and (self.cells["phase"], self.hertz, self.poles) == ("1", hertz, poles)

    def takes_the_place(self, old: dict) -> bool:
        """Return True where nobody doubts that this motor goes where ``old`` (a nameplate) was."""
        low_end = {"up": "lead end", "down": "shaft end"}.get(old.get("shaft_position"))
        mounts = self.parts("mounting")
        positions = self.parts("shaft positions")
        length, old_length = self.number("shaft length [in]"), inches(old.get("shaft_length"))
        bore, old_bore = self.number("shaft diameter [in]"), inches(old.get("shaft_diameter"))
        turns = (self.cells["rotation"], self.cells["rotation seen from"])
        return all((
            "frame" not in old or digits(self.cells["frame"]) == digits(old["frame"]),
            old_bore is None or bore == old_bore,
            old_length is None or (length is not None and length >= old_length),
            "mounting" not in old or old["mounting"] in mounts or "belly band" in mounts,
            "shaft_position" not in old or old["shaft_position"] in positions,
            self.cells["drain plugs"] in ("both ends", low_end),
            "totally enclosed" in self.cells["enclosure"],
            turns[0] == "reversible"
            or turns == (old.get("rotation"), old.get("rotation_seen_from")),
            self.cells["protector"] != "none",
        ))  # fmt: skip

    def stands(self, outdoor: float, elevation: float = 0.0) -> bool:
        """Return True where the ambient rating covers air that is 12 K above ``outdoor`` [degC].

        Air leaves the coil some 20 degF above the weather. Thin air cools less: 1 % of the rise
        per 100 m above 1000 m (IEC 60034-1), here 0.7 K.
        """
        thin = 0.007 * max(0.0, elevation - 1000.0)
        return self.ambient is not None and self.ambient >= outdoor + 12.0 + thin


def read_rows(text: str) -> list[CatalogMotor]:
    """Return the motors of a catalog file's ``text``."""
    return [CatalogMotor(row) for row in csv.DictReader(io.StringIO(text))]


def known(**facts) -> dict:
    return {name: value for name, value in facts.items() if value not in (None, "")}


def unit(text: str, name: str) -> str | None:
    return f"{text} {name}" if text else None


def ends(volts: str) -> tuple[float, float]:
    """Lowest and highest number of "208-230" or "230 V"."""
    numbers = [float(text) for text in re.findall(r"\d+", volts)]
    return min(numbers), max(numbers)


def inches(text: str | None) -> float | None:
    """The sum of "5 5/8 in"."""
    return None if text is None else float(sum(map(Fraction, text.split()[:-1])))


def digits(frame: str) -> str:
    return "".join(re.findall(r"\d", frame))


def size(horsepower: str) -> float:
    return float(Fraction(horsepower))


def same_size(one: float, other: float) -> bool:
    return abs(one - other) < 0.01 * other


# a. A catalog motor has failed.

VOLTAGES_OF_A_TWIN = 9
WEATHER = ("95 degF", None, "mild")


def twins(motors: list[CatalogMotor], thorough: bool = False) -> Iterator[OrdinaryJob]:
    """Every rating of every motor, with the supply not measured and at a voltage in its range.

    ``thorough`` takes every voltage of the range, else the jobs share the voltages out.
    """
    weather = itertools.cycle(WEATHER)
    turn = itertools.count()
    for motor in motors:
        low, high = motor.limits
        steps = [i / (VOLTAGES_OF_A_TWIN - 1) for i in range(VOLTAGES_OF_A_TWIN)]
        range_ = [round(1.015 * low + (0.996 * high - 1.015 * low) * step) for step in steps]
        for rating in range(len(motor.ratings)):
            at = next(turn) * 4 % VOLTAGES_OF_A_TWIN
            for supply in (None, *(range_ if thorough else range_[at : at + 1])):
                yield _twin(motor, rating, supply, next(weather))


def _twin(motor: CatalogMotor, rating: int, supply: int | None, weather: str | None):
    plate = motor.electrical(rating) | motor.mechanical()
    outdoor = _within_rating(motor, weather)
    site = known(voltage=unit(supply and str(supply), "V"), outdoor_temperature=outdoor)
    horsepower = motor.ratings[rating]
    same = (motor.name, size(horsepower))
    title = (
        f"{motor.name} at {horsepower} hp replaced by itself, {plate['voltage']}, supply "
        f"{site.get('voltage', 'not measured')}, outdoors {outdoor or 'not known'}"
    )
    expect = (
        Expect("accepts", same, "Technicians do not reject a motor that equals the failed one."),
        Expect("first three", same, "The same motor is the safest choice."),
        Expect("first three, ties aside", same, "Motors that are equal in size and amps tie."),
        *ALWAYS,
    )
    tables = _tables(plate, site)
    if supply is not None and motor.cells["rotation"] == "reversible":  # somebody was there
        tables["blade"] = {"rotation": "counterclockwise", "rotation_seen_from": "lead end"}
    return OrdinaryJob("twins", title, tables, expect)


def _within_rating(motor: CatalogMotor, weather: str | None) -> str | None:
    """Weather in which the coil's leaving air, 20 degF warmer, is within the ambient rating."""
    if weather is None:
        return None
    rated = 1.8 * (motor.ambient or 40.0) + 32.0
    return f"{min(75.0 if weather == 'mild' else 95.0, rated - 24.0):.0f} degF"


def _tables(plate: dict, site: dict) -> dict:
    return {name: table for name, table in (("nameplate", plate), ("site", site)) if table}


# b. A one-rating motor has failed; a motor of several ratings replaces it.


def several(motors: list[CatalogMotor]) -> Iterator[OrdinaryJob]:
    """Each rating of each several-rating motor, for a one-rating motor of that horsepower."""
    supplies = itertools.cycle((None, 0.0, 1.0))
    for motor in motors:
        if len(motor.ratings) > 1:
            for rating in motor.ratings:
                yield _replaced(motor, rating, motors, next(supplies))


def _replaced(motor: CatalogMotor, rating: str, motors, end: float | None) -> OrdinaryJob:
    old = _one_rating(motor, rating, motors)
    if old is None:
        index = motor.ratings.index(rating)
        plate = motor.electrical(index) | motor.mechanical()
        plate["current"] = f"{amps_of(rating, plate['voltage'], 0.5):.2g} A"
        del plate["capacitor"]
    else:
        plate = old.electrical(0) | old.mechanical()
        if not motor.takes_the_place(plate):
            plate |= motor.mechanical()
    low, high = motor.volts
    supply = None if end is None else f"{low + end * (high - low):.0f} V"
    rated = min(one.ambient or 40.0 for one in (motor, old or motor))
    outdoor = f"{min(95.0, 1.8 * rated + 32.0 - 24.0):.0f} degF"
    site = known(voltage=supply, outdoor_temperature=outdoor)
    title = (
        f"{plate['power']} {plate['current']} {plate['voltage']} {plate['speed']} replaced by "
        f"{motor.name} ({'; '.join(motor.ratings)} hp), supply {supply or 'not measured'}"
    )
    reason = "One motor of several ratings replaces one-rating motors of each of its horsepowers."
    expect = (Expect("accepts", (motor.name, size(rating)), reason), *ALWAYS)
    return OrdinaryJob("several", title, _tables(plate, site), expect)


def _one_rating(motor: CatalogMotor, rating: str, motors) -> CatalogMotor | None:
    """A one-rating motor of that size on the same circuit, best one that sits the same way."""
    alike = [
        one
        for one in motors
        if one.ratings == [rating]
        and one.volts == motor.volts
        and motor.suits_circuit(one.cells["voltage [V]"], one.hertz, one.poles)
    ]
    return max(
        alike,
        key=lambda one: (motor.takes_the_place(one.mechanical()), one.name),
        default=None,
    )


# c. Ordinary nameplates.

# Full-load amps at 230 V of small run-capacitor motors, lowest and highest ordinary ones.
AMPS = {
    "1/12": (0.5, 0.7), "1/10": (0.6, 0.85), "1/8": (0.8, 1.0), "1/6": (1.0, 1.3),
    "1/5": (1.1, 1.5), "1/4": (1.3, 1.9), "1/3": (1.7, 2.5), "1/2": (2.5, 3.6),
    "3/4": (3.6, 5.0), "1": (4.6, 6.4),
}  # fmt: skip
MICROFARADS = {
    "1/12": 2, "1/10": 3, "1/8": 3, "1/6": 5, "1/5": 5, "1/4": 5, "1/3": 7.5, "1/2": 10,
    "3/4": 12.5, "1": 15,
}  # fmt: skip
BODY = {"1/2": "5 1/4 in", "3/4": "6 1/2 in", "1": "7 in"}  # others 4 3/4 in
SPEEDS = {4: 1625, 6: 1075, 8: 825}
# Rated volts, horsepowers that are ordinary for them, and the supply as a meter reads it.
CIRCUITS = (
    ("208-230", SIZES, (236, 206)),
    ("230", SIZES, (236, 229)),
    ("208", SIZES, (206, 211)),
    ("200-230", SIZES, (226, 208)),
    ("115", SIZES[:8], (118, 114)),
    ("460", SIZES[5:], (472, 455)),
    ("380", SIZES[5:9], (392, 376)),
    ("575", SIZES[5:], (588, 570)),
)
FACTS = {
    "hp, rpm, volts": ("voltage", "power", "speed"),
    "amps, rpm, volts": ("voltage", "current", "speed"),
    "hp, amps, poles, volts": ("voltage", "power", "current", "poles"),
    "all": None,
    "all but the capacitor": ("capacitor", "capacitor_voltage"),
    "all but the rotation": ("rotation", "rotation_seen_from"),
}
ELEVATIONS = (0, 1500, 2500)  # m
OUTDOORS = (35, 30, 40, 46)  # degC


def amps_of(horsepower: str, volts: str, place: float) -> float:
    """Full-load amps at a ``place`` (0 to 1) in the ordinary range, at the highest rated volts."""
    low, high = AMPS[horsepower]
    return (low + place * (high - low)) * 230.0 / ends(volts)[1]


def sizes_of(amps: float, volts: str) -> tuple[float, ...]:
    """Horsepowers that are ordinary at ``amps``."""
    at_230 = amps * ends(volts)[1] / 230.0
    return tuple(
        size(hp) for hp, (low, high) in AMPS.items() if 0.97 * low <= at_230 <= 1.03 * high
    )


def full_nameplate(horsepower: str, volts: str, poles: int, amps: float, turn: int = 0) -> dict:
    """An ordinary, wholly legible nameplate."""
    return {
        "voltage": f"{volts} V",
        "frequency": "60 Hz",
        "phase": 1,
        "power": f"{horsepower} hp",
        "current": f"{amps:.2g} A",
        "speed": f"{SPEEDS[poles]} rpm",
        "poles": poles,
        "capacitor": f"{MICROFARADS[horsepower]:g} uF",  # as few at 115 V
        "capacitor_voltage": "440 V" if turn % 2 or volts == "380" else "370 V",
        "rotation": ("clockwise", "counterclockwise")[turn // 2 % 2],
        "rotation_seen_from": ("lead end", "shaft end")[turn // 3 % 2],
        "frame": "48",
        "shaft_diameter": "1/2 in",
        "shaft_length": "4 1/2 in",
        "body_diameter": "5 5/8 in",
        "body_length": BODY.get(horsepower, "4 3/4 in"),
        "mounting": ("belly band", "through-bolts", "shell holes")[turn % 3],
        "shaft_position": ("down", "up")[turn % 2],
        "enclosure": "totally enclosed air over",
        "insulation_class": "B",
        "ambient_rating": "60 degC",
        "bearings": "sleeve",
        "drain_plugs": "both ends",
    }


def ordinary(motors: list[CatalogMotor]) -> Iterator[OrdinaryJob]:
    """Horsepower x poles x volts, with facts known, supply, elevation and weather shared out."""
    draw = random.Random(SEED)
    for volts, sizes, supplies in CIRCUITS:
        for horsepower, poles in itertools.product(sizes, SPEEDS):
            place = draw.choice((0.1, 0.5, 0.9))
            supply = draw.choice((None, None, *supplies))
            elevation, outdoor = draw.choice(ELEVATIONS), draw.choice(OUTDOORS)
            amps = float(f"{amps_of(horsepower, volts, place):.2g}")
            plate = full_nameplate(horsepower, volts, poles, amps, draw.randrange(6))
            legible = draw.choice(tuple(FACTS))
            site = known(
                voltage=unit(supply and str(supply), "V"),
                elevation=f"{elevation} m",
                outdoor_temperature=f"{outdoor} degC",
            )
            read = _legible(plate, legible)
            title = (
                f"{horsepower} hp {amps:g} A {volts} V {poles} poles, legible: {legible}; supply "
                f"{site.get('voltage', 'not measured')}, {elevation} m, {outdoor} degC"
            )
            asked = (horsepower, volts, poles, amps, supply, elevation, outdoor)
            expect = (*_of_a_nameplate(read, motors, *asked), *ALWAYS)
            yield OrdinaryJob("ordinary", title, _tables(read, site), expect)


def _legible(plate: dict, facts: str) -> dict:
    if facts == "all":
        return plate
    if facts.startswith("all but"):
        return {name: value for name, value in plate.items() if name not in FACTS[facts]}
    return {name: plate[name] for name in FACTS[facts]}


def _of_a_nameplate(read, motors, horsepower, volts, poles, amps, supply, elevation, outdoor):
    """What to expect of an ordinary nameplate, from what the catalog has."""
    reach = str(supply or volts)
    right = [one for one in motors if one.suits_circuit(reach, 60.0, poles)
             and one.suits_circuit(volts, 60.0, poles)]  # fmt: skip
    of_size = [one for one in right if one.amps_at(size(horsepower)) is not None]
    sure = [one for one in of_size if one.stands(outdoor, elevation) and one.takes_the_place(read)]
    wanted = (size(horsepower),) if "power" in read else sizes_of(amps, volts)
    why = "The horsepower is matched; one size up is a fallback, and the answer calls it so."
    yield Expect("first size", wanted, why)
    circuit = (volts, supply, 60.0, poles)
    yield Expect("right circuit", circuit, "Volts, hertz, phase and poles are never a choice.")
    yield Expect("few questions", 2, "Nobody fills in a list: at most two facts decide.")
    if sure:
        why = f"The catalog has {len(sure)} of this size and speed, such as {sure[0].name}."
        yield Expect("accepts something", None, why)
    if not right:
        volts_known = any(one.suits_circuit(reach, 60.0, one.poles) for one in motors)
        why = f"The catalog has nothing for {reach} V at {poles} poles."
        yield Expect("stops for", "voltage or poles" if volts_known else "voltage", why)
    if supply is None and right:
        yield Expect(
            "mentions", ("voltage",), "An unknown supply voltage is asked or assumed aloud."
        )


# d. Doubtful nameplates: what was misread, and what the answer should ask about.

DOUBTFUL = (
    ("10 A at 1/6 hp", "1/6", 6, {"current": "10 A"}, ("amp", "current", "power")),
    ("0.9 A at 1/3 hp", "1/3", 6, {"current": "0.9 A"}, ("amp", "current", "power")),
    ("14 A for 1.4 A", "1/4", 6, {"current": "14 A"}, ("amp", "current", "power")),
    ("0.19 A for 1.9 A", "1/3", 6, {"current": "0.19 A"}, ("amp", "current", "power")),
    ("4 A at 1/8 hp", "1/8", 6, {"current": "4 A"}, ("amp", "current", "power")),
    ("1 A at 1/2 hp", "1/2", 8, {"current": "1 A"}, ("amp", "current", "power")),
    ("1300 rpm", "1/4", 6, {"speed": "1300 rpm", "poles": None}, ("speed", "rpm", "pole")),
    ("1300 rpm of 6 poles", "1/3", 6, {"speed": "1300 rpm"}, ("speed", "rpm", "pole")),
    ("1075 rpm of 8 poles", "1/4", 8, {"speed": "1075 rpm"}, ("speed", "rpm", "pole")),
    ("825 rpm of 6 poles", "1/4", 6, {"speed": "825 rpm"}, ("speed", "rpm", "pole")),
    ("1200 rpm, the synchronous speed", "1/3", 6, {"speed": "1200 rpm"}, ("speed", "rpm", "pole")),
    ("55 uF of a dual capacitor", "1/4", 6, {"capacitor": "55 uF"}, ("capacit",)),
)  # fmt: skip


def doubtful(motors: list[CatalogMotor]) -> Iterator[OrdinaryJob]:
    """Misread nameplates, on a measured supply and on one that was not."""
    for (title, horsepower, poles, slip, words), supply in itertools.product(
        DOUBTFUL, (None, "234 V")
    ):
        amps = amps_of(horsepower, "208-230", 0.5)
        plate = full_nameplate(horsepower, "208-230", poles, amps)
        tables = _tables(plate, known(voltage=supply, outdoor_temperature="95 degF"))
        tables = changed(tables, **{f"nameplate__{name}": value for name, value in slip.items()})
        expect = (
            Expect("accepts something", None, "One bad figure does not refuse every motor."),
            Expect("asks", words, "A figure that cannot be true is read again."),
            *ALWAYS,
        )
        full = f"{title}; supply {supply or 'not measured'}"
        yield OrdinaryJob("doubtful", full, tables, expect)


# e. Hot and hard places.

# Rated volts, supply, and whether it is within the limits, near one, or beyond. A range is what
# was logged over a day.
SUPPLIES = (
    ("208-230", "196-204 V", "within"), ("208-230", "240-248 V", "within"),
    ("208-230", "253 V", "near"), ("208-230", "188 V", "near"),
    ("208-230", "277 V", "beyond"), ("208-230", "170 V", "beyond"),
    ("115", "104 V", "near"), ("115", "126 V", "near"), ("115", "140 V", "beyond"),
    ("460", "480 V", "within"), ("460", "440 V", "within"), ("460", "505 V", "near"),
    ("460", "540 V", "beyond"), ("460", "380 V", "beyond"),
)  # fmt: skip
SIX_POLES = (("1/4", 6), ("1/3", 6))


def hard(motors: list[CatalogMotor]) -> Iterator[OrdinaryJob]:
    """Supplies at and beyond the limits, a 230 V motor on 208 V, and air that is too hot."""
    for (volts, supply, where), (horsepower, poles) in itertools.product(SUPPLIES, SIX_POLES):
        if any(one.suits_circuit(volts, 60.0, poles) for one in motors):
            yield _hard_supply(motors, volts, supply, where, horsepower, poles)
    for (horsepower, poles), supply in itertools.product(SIX_POLES, ("196-204 V", "208 V")):
        yield _only_230(horsepower, poles, supply)
    for horsepower, poles in (("1/6", 6), ("1/4", 6), ("1/3", 6), ("1/3", 8)):
        yield _too_hot(horsepower, poles)
        yield _hot_for_40(horsepower, poles)


def _hard_supply(motors, volts, supply, where, horsepower, poles) -> OrdinaryJob:
    plate = full_nameplate(horsepower, volts, poles, amps_of(horsepower, volts, 0.5))
    site = {"voltage": supply, "outdoor_temperature": "90 degF"}
    allowed = f"{volts} V allows 10 % below and above (NEMA MG 1, from memory)."
    stocked = any(
        one.amps_at(size(horsepower))
        and one.suits_circuit(volts, 60.0, poles)
        and one.takes_the_place(plate)
        for one in motors
    )
    expect = ()
    if where == "beyond":
        expect = (Expect("stops for", "voltage", f"{supply} on {volts} V: {allowed}"),)
    elif stocked:
        expect = (Expect("accepts something", None, f"{supply} is allowed: {allowed}"),)
        if where == "near":
            why = f"{supply} is at the end: {allowed}"
            expect += (Expect("says it is near", "voltage", why),)
    title = f"{horsepower} hp {poles} poles rated {volts} V on {supply} ({where})"
    return OrdinaryJob("hard", title, _tables(plate, site), (*expect, *ALWAYS))


def _only_230(horsepower: str, poles: int, supply: str) -> OrdinaryJob:
    """A motor that was rated 230 V only has failed on a 208 V system."""
    plate = full_nameplate(horsepower, "230", poles, amps_of(horsepower, "230", 0.5))
    site = {"voltage": supply, "outdoor_temperature": "90 degF"}
    expect = (
        Expect("right circuit", ("208-230", ends(supply)[0], 60.0, poles),
               "A 230 V motor needs 207 V; a 208-230 V motor runs from 187 V."),
        Expect("accepts something", None, "A 208-230 V motor is the cure."),
        *ALWAYS,
    )  # fmt: skip
    return OrdinaryJob("hard", f"{horsepower} hp rated 230 V only on {supply}", 
                       _tables(plate, site), expect)  # fmt: skip


def _too_hot(horsepower: str, poles: int) -> OrdinaryJob:
    """Air at the motor of 82 degC, measured part by part."""
    plate = full_nameplate(horsepower, "208-230", poles, amps_of(horsepower, "208-230", 0.5))
    site = {
        "voltage": "236 V",
        "outdoor_temperature": "56 degC",
        "recirculation": "10 K",
        "coil_temperature_rise": "16 K",
    }
    reason = "82 degC at the motor is above every ambient rating, 70 degC at most."
    expect = (Expect("nothing without a question", None, reason), *ALWAYS)
    title = f"{horsepower} hp {poles} poles in air of 82 degC"
    return OrdinaryJob("hard", title, _tables(plate, site), expect)


def _hot_for_40(horsepower: str, poles: int) -> OrdinaryJob:
    """Air at the motor of 57 degC: between the ratings of 40 and 60 degC."""
    plate = full_nameplate(horsepower, "208-230", poles, amps_of(horsepower, "208-230", 0.5))
    site = {
        "voltage": "236 V",
        "outdoor_temperature": "46 degC",
        "recirculation": "0 K",
        "coil_temperature_rise": "11 K",
    }
    expect = (
        Expect("ambient rating at least", 50.0, "57 degC is no place for a 40 degC motor."),
        Expect("accepts something", None, "Motors for 60 and 70 degC are made for this."),
        *ALWAYS,
    )
    title = f"{horsepower} hp {poles} poles in air of 57 degC"
    return OrdinaryJob("hard", title, _tables(plate, site), expect)


# f. Neighbors.


def neighbors(motors: list[CatalogMotor]) -> Iterator[OrdinaryJob]:
    """Jobs beside jobs: some ordinary ones, and some that stand at the end of a rule."""
    draw = random.Random(SEED)
    full = [one for one in ordinary(motors) if "current" in one.tables["nameplate"]
            and any(e.what == "accepts something" for e in one.expect)]  # fmt: skip
    bases = draw.sample(list(twins(motors)), 14) + draw.sample(full, min(8, len(full)))
    edges = (("site__voltage", "252 V"), ("site__voltage", "188 V"), ("nameplate__current", None))
    for (horsepower, poles), (name, value) in itertools.product((("1/4", 6), ("1/3", 6)), edges):
        amps = amps_of(horsepower, "208-230", 0.0 if value is None else 0.5)
        plate = full_nameplate(horsepower, "208-230", poles, amps)
        tables = _tables(plate, {"voltage": "236 V", "outdoor_temperature": "95 degF"})
        tables = changed(tables, **{name: value}) if value else tables
        title = f"{horsepower} hp {plate['current']} on {tables['site']['voltage']}, at an end"
        bases.append(OrdinaryJob("neighbors", title, tables, ()))
    expect = (
        Expect("accepts something", None, "An ordinary job at an allowed voltage has its motor."),
        Expect("stays", None, "A volt is not why a motor fits."),
        Expect("near is said", None, "What turns on a volt is near a limit, and is called so."),
    )
    for base in bases:
        yield replace(base, kind="neighbors", expect=expect, neighbors=tuple(_beside(base.tables)))


def _beside(tables: dict) -> Iterator[tuple[str, dict, int]]:
    """The same job one step off in each figure that it has."""
    steps = (("site", "voltage", 1.0), ("nameplate", "current", 0.01),
             ("site", "outdoor_temperature", 1.0))  # fmt: skip
    for table, name, step in steps:
        number, _, symbol = tables.get(table, {}).get(name, "").partition(" ")
        for sign in (-1, 1) if number else ():
            text = f"{float(number) + sign * step:g} {symbol}"
            words = f"{name.replace('_', ' ')} {text}"
            yield words, changed(tables, **{f"{table}__{name}": text}), 0
    yield "another seed", tables, 1


# g. Documents.

DOCUMENTS = 60


def documents(motors: list[CatalogMotor]) -> Iterator[OrdinaryJob]:
    """Jobs of the other kinds, as a contractor's files."""
    draw = random.Random(SEED)
    full = [
        one for one in ordinary(motors) if any(e.what == "accepts something" for e in one.expect)
    ]
    bases = draw.sample(list(twins(motors)), 30) + draw.sample(full, min(20, len(full)))
    bases += draw.sample(list(several(motors)), DOCUMENTS - len(bases))
    reason = "One job, one motor: the order must not install what the proposal did not offer."
    for base in bases:
        tables = base.tables | {"name": base.title[:60], "customer": {"name": "Customer 1"}}
        expect = (
            Expect("one motor in all documents", None, reason),
            Expect("work names a motor", None, _why_accepted(base)),
        )
        yield replace(base, kind="documents", tables=tables, expect=expect)


def _why_accepted(job: OrdinaryJob) -> str:
    return next(e.reason for e in job.expect if e.what in ("accepts", "accepts something"))


KINDS = {
    "twins": twins,
    "several": several,
    "ordinary": ordinary,
    "doubtful": doubtful,
    "hard": hard,
    "neighbors": neighbors,
    "documents": documents,
}


def all_jobs(motors: list[CatalogMotor], kinds=KINDS, thorough: bool = False) -> list[OrdinaryJob]:
    """Return the jobs of ``kinds`` in their order; ``thorough`` as `twins` takes it."""
    made = (twins(motors, thorough) if kind == "twins" else KINDS[kind](motors) for kind in kinds)
    return [job for jobs in made for job in jobs]


def sample(jobs: Iterable[OrdinaryJob], number: int, seed: int = SEED) -> list[OrdinaryJob]:
    """Return about ``number`` jobs, of each kind its share and at least four."""
    by_kind: dict[str, list[OrdinaryJob]] = {}
    for job in jobs:
        by_kind.setdefault(job.kind, []).append(job)
    total = sum(map(len, by_kind.values()))
    draw = random.Random(seed)
    return [
        job
        for group in by_kind.values()
        for job in draw.sample(group, min(len(group), max(4, number * len(group) // total)))
    ]

"""Makes catalogue.csv beside this file: an invented line of fan motors, each made from a circuit.

Makers, models, prices and warranties are invented. The electrical figures are not free: a motor's
circuit is drawn from the recipe below and brought to the impedance level at which it gives its
rated power with a standard capacitor; amps and capacitor voltage are then worked out from it.
A design that no maker would sell (see ``sellable``) is thrown away and drawn again. The recipe
leans on no measured motor and was chosen apart from what ``airover.identify`` takes as usual.

    python data/make_catalogue.py
"""

import csv
import io
from fractions import Fraction
from pathlib import Path
from typing import NamedTuple

import numpy as np

from airover.physics.circuit import CapacitorRun
from airover.physics.operating_point import BREAKAWAY, fan_coefficient, settle
from airover.physics.saturation import Saturation
from airover.records.catalogue_columns import COLUMNS
from airover.units import coherent

SEED = 20279  # one with which the ordinary sample job has several answers
TRIES = 600  # draws of a design before we give up
HORSEPOWER = coherent(1.0, "power", "hp", "horsepower")  # W
CAPACITORS = np.array([2, 2.5, 3, 4, 5, 6, 7.5, 10, 12.5, 15, 17.5, 20, 25, 30]) * 1e-6
LOW_LINE = 0.85  # over nominal, at which a motor still starts

# The recipe: evenly likely between the ends, all our own judgement. Impedances are over the
# magnetising reactance, those of the auxiliary also per turn squared.
RECIPE = {
    "R1": (0.09, 0.20), "X1": (0.07, 0.16), "X2": (0.05, 0.13), "R2_per_slip": (1.2, 2.4),
    "R_aux": (0.12, 0.28), "X_aux": (0.06, 0.17), "X_capacitor": (1.1, 1.8),
    "core": (0.06, 0.14), "friction": (0.010, 0.035),  # shares of the rated power
    "share": (0.12, 0.36), "exponent": (4.5, 7.5),  # saturation
    "emf": (0.84, 0.96),  # air-gap voltage at which the magnetising reactance holds, over the line's
}  # fmt: skip


class Line(NamedTuple):
    """What the line's voltage decides: the auxiliary's turns over the main's, and the capacitor.

    A run capacitor's voltage lies above the line's, by the less the fewer the auxiliary's turns;
    on 460 V few turns, and the tenth above its rating that it carries (IEC 60252-1, from memory,
    not verified), keep it within the highest rating in common use.
    """

    turns: tuple[float, float]
    capacitor_over_line: tuple[float, float]  # voltages, at the rating
    highest: float = 1.10  # line, over nominal, at which the plate's capacitor voltage holds


LINES = {
    115: Line((0.90, 1.45), (1.3, 1.9)),
    230: Line((0.90, 1.45), (1.3, 1.9)),
    460: Line((0.85, 1.15), (1.2, 1.5), highest=1.0),
}
SINGLE = ("1/8", "1/6", "1/5", "1/4", "1/3", "1/2", "3/4")
FOUR = ("1/6; 1/5; 1/4; 1/3",)
ALL_POSITIONS, NOT_UP = "up; down; horizontal", "down; horizontal"
ALL_MOUNTINGS = "shell holes; through-bolts; belly band"


class Family(NamedTuple):
    """Motors of one maker that share all but their power; each of ``ratings`` is one motor."""

    maker: str
    ratings: tuple[str, ...]  # hp
    rpm: tuple[int, ...] = (1075,)  # on the plate, in turn
    poles: int = 6
    voltage: str = "208-230"
    frequency: int = 60
    capacitor_voltage: int = 440
    insulation: str = "B"
    ambient: int = 60
    bearings: str = "sleeve"
    rotation: tuple[str, ...] = ("reversible",)  # in turn
    frame: str = "48"
    shafts: tuple[float, ...] = (4.5, 6.0, 5.0)  # lengths [in], in turn
    mounting: tuple[str, ...] = ("shell holes; belly band", "through-bolts; belly band")
    positions: str = ALL_POSITIONS
    plugs: tuple[str, ...] = ("both ends",)
    enclosure: str = "totally enclosed air over"
    dearness: float = 1.0
    warranty: tuple[int, int] = (12, 18)  # months from installation, from manufacture


FIXED = ("counterclockwise", "clockwise")
_GOOD = {
    "insulation": "F", "ambient": 70, "bearings": "ball", "mounting": (ALL_MOUNTINGS,),
    "shafts": (6.0, 7.5, 5.5), "warranty": (36, 42), "dearness": 1.5,
}  # fmt: skip
_PLAIN = {
    "ambient": 40, "rotation": FIXED, "shafts": (5.0, 4.0, 3.0, 6.0), "positions": NOT_UP,
    "mounting": ("shell holes",), "plugs": ("shaft end", "lead end", "none"), "dearness": 0.75,
}  # fmt: skip
_LARGE = _GOOD | {"frame": "56", "mounting": ("through-bolts", "base; through-bolts")}
_LONG = {
    "insulation": "F", "shafts": (7.5, 7.0, 6.5), "warranty": (24, 30), "dearness": 1.25,
    "mounting": ("through-bolts; belly band", ALL_MOUNTINGS),
}  # fmt: skip
_OPEN = {
    "enclosure": "open air over", "insulation": "A", "ambient": 40, "plugs": ("none",),
    "mounting": ("shell holes; belly band",), "rotation": ("reversible", *FIXED), "dearness": 0.8,
}  # fmt: skip
_SMALL = _PLAIN | {"frame": "42", "enclosure": "open air over", "positions": ALL_POSITIONS}
_460 = {"voltage": "460", "capacitor_voltage": 660}
_USUAL = {"warranty": (24, 30), "capacitor_voltage": 370}
FAMILIES = (
    Family("A", SINGLE, capacitor_voltage=370, mounting=(ALL_MOUNTINGS,)),
    Family("A", FOUR + ("1/3; 1/2",) + FOUR, mounting=(ALL_MOUNTINGS,)),
    Family("A", SINGLE[1:6], (825,), 8, capacitor_voltage=370, mounting=(ALL_MOUNTINGS,)),
    Family("A", FOUR + ("1/3; 1/2",), (825,), 8, mounting=(ALL_MOUNTINGS,)),
    Family("A", SINGLE[:6], (1075, 1050), **_PLAIN),
    Family("A", SINGLE[1:5], (825, 810), 8, **_PLAIN),
    Family("B", SINGLE + FOUR + ("1/3; 1/2", "1/2; 3/4") + FOUR, (1075, 1090), **_GOOD),
    Family("B", SINGLE[1:6] + FOUR + ("1/3; 1/2",), (825, 850), 8, **_GOOD),
    Family("B", SINGLE[3:] + ("1/3; 1/2",), (1075, 1100), **_GOOD, **_460),
    Family("B", SINGLE[4:6], (825, 850), 8, **_GOOD, **_460),
    Family("C", SINGLE[1:6], (1075, 1100), shafts=(6.0, 5.5, 6.5), **_USUAL),
    Family("C", SINGLE[2:6], shafts=(6.0, 7.0), plugs=("both ends", "shaft end"), **_USUAL),
    Family("C", FOUR + FOUR + ("1/3; 1/2",), (1075, 1100), shafts=(6.0, 5.5, 7.0), dearness=1.1),
    Family("C", SINGLE[3:6] + ("1/4; 1/3",), rotation=FIXED, plugs=("both ends", "shaft end")),
    Family("C", SINGLE[1:5], (825, 850), 8, **_USUAL),
    Family("C", FOUR + FOUR, (825, 850), 8, dearness=1.1),
    Family("C", SINGLE[3:], (1075, 1050), dearness=1.2, **_460),
    Family("C", SINGLE[4:6], (825,), 8, dearness=1.2, **_460),
    Family("C", SINGLE[1:5], (1625, 1650), 4, shafts=(4.0, 5.0), plugs=("lead end",)),
    Family("C", SINGLE[1:6] + FOUR + ("1/2; 3/4",), **_LONG),
    Family("C", SINGLE[1:5] + FOUR, (825, 850), 8, **_LONG),
    Family("C", SINGLE[:6], (1075, 1050), **_OPEN),
    Family("C", SINGLE[2:5], (825, 810), 8, **_OPEN),
    Family("D", SINGLE[2:6] + FOUR, bearings="ball", ambient=40, plugs=("both ends", "shaft end")),
    Family("D", SINGLE[3:6], (825,), 8, bearings="ball", ambient=40, plugs=("shaft end",)),
    Family("D", SINGLE[5:], (1075, 1100), **_LARGE),
    Family("D", SINGLE[5:], (825, 850), 8, **_LARGE),
    Family("D", SINGLE[5:], (1100,), **_LARGE, **_460),
    Family("D", SINGLE[:3], (1050, 1075), **_SMALL),
    Family("D", SINGLE[:3], (1550,), 4, **_SMALL),
    Family("D", SINGLE[1:4], (1075, 1050), voltage="115", rotation=FIXED, plugs=("none",)),
    Family("D", SINGLE[1:5], (900, 910), voltage="230", frequency=50, dearness=1.2),
)


class Design(NamedTuple):
    """A motor and the circuit behind it, which the catalogue does not tell.

    The circuit gives the highest of ``ratings`` [W] at ``voltage`` [V] and ``speed_rpm``, with hot
    windings; the plate says ``plate_rpm``.
    """

    family: Family
    number: int  # within its family
    ratings: np.ndarray
    plate_rpm: int
    voltage: int
    speed_rpm: float
    circuit: CapacitorRun

    def on_fans(self, voltage):
        """Where the motor settles at ``voltage`` [V] on the fan of each of its ratings."""
        fans = fan_coefficient(self.ratings, self.plate_rpm)
        return settle(self.circuit, voltage, self.family.frequency, fans)


class Asked(NamedTuple):
    """What a circuit has to give: ``power`` [W] at ``voltage`` [V] and ``slip``."""

    poles: int
    frequency: float
    voltage: int
    power: float
    slip: np.ndarray  # (TRIES,)
    lightest: float  # the smallest rating, over power
    capacitor_voltage: int


def designs() -> list[Design]:
    """Every motor in the catalogue's order; the same ones each time."""
    lines = [(family, number) for family in FAMILIES for number in range(len(family.ratings))]
    return [_design(*line, [SEED, at]) for at, line in enumerate(lines)]


def _design(family: Family, number: int, seed) -> Design:
    """The first sellable motor among random ones."""
    rng = np.random.default_rng(seed)
    voltage = int(family.voltage.split("-")[-1])
    recipe = {**RECIPE, "turns": LINES[voltage].turns}
    drawn = {name: rng.uniform(*ends, TRIES) for name, ends in recipe.items()}
    plate_rpm = _in_turn(family.rpm, number)
    speed_rpm = plate_rpm + rng.uniform(-5, 5, TRIES)  # plates round
    ratings = HORSEPOWER * np.array([float(Fraction(r)) for r in family.ratings[number].split(";")])
    slip = 1 - speed_rpm * family.poles / (120 * family.frequency)
    asked = Asked(
        family.poles,
        family.frequency,
        voltage,
        ratings[-1],
        slip,
        ratings[0] / ratings[-1],
        family.capacitor_voltage,
    )
    circuits = _circuits(asked, drawn)
    good = sellable(circuits, asked)
    if not good.any():
        raise ArithmeticError(f"no sellable design of {family.ratings[number]} hp in {family}")
    first = int(np.argmax(good))
    circuit = circuits.rearranged(lambda value: np.broadcast_to(value, TRIES)[first])
    return Design(family, number, ratings, plate_rpm, voltage, speed_rpm[first], circuit)


def _in_turn(choices, number: int):
    return choices[number % len(choices)]


def _circuits(asked: Asked, drawn) -> CapacitorRun:
    """Circuits with the standard capacitors next to those that their recipes ask for."""
    level = np.full(TRIES, 0.7 * asked.voltage**2 / asked.power)
    for steps in (5, 20):
        reactance = drawn["X_capacitor"] * drawn["turns"] ** 2 * level
        wanted = 1 / (2 * np.pi * asked.frequency * reactance)
        nearest = np.abs(np.log(CAPACITORS / wanted[:, None])).argmin(axis=1)
        level = _level(asked, drawn, CAPACITORS[nearest], level, steps)
    return _circuit(asked, drawn, CAPACITORS[nearest], level)


def _level(asked: Asked, drawn, capacitance, level, steps):
    """The magnetising reactance [ohm] at which the shaft gives the power asked for.

    Power goes about inversely with all impedances, so its miss is the next correction.
    """
    for _ in range(steps):
        circuit = _circuit(asked, drawn, capacitance, level)
        power = circuit.balance(asked.voltage, asked.frequency, asked.slip).power_out
        level = level * np.clip(power / asked.power, 0.7, 1.4)
    return level


def _circuit(asked: Asked, drawn, capacitance, level) -> CapacitorRun:
    """The recipe at an impedance ``level`` [ohm]."""
    a = drawn["turns"]
    speed = (1 - asked.slip) * 4 * np.pi * asked.frequency / asked.poles
    return CapacitorRun(
        asked.poles,
        asked.frequency,
        R1=drawn["R1"] * level,
        X1=drawn["X1"] * level,
        R2=drawn["R2_per_slip"] * asked.slip * level,
        X2=drawn["X2"] * level,
        Xm=level,
        turns_ratio=a,
        R_aux=drawn["R_aux"] * a**2 * level,
        X_aux=drawn["X_aux"] * a**2 * level,
        capacitance=capacitance,
        core_conductance=drawn["core"] * asked.power / asked.voltage**2,
        friction=drawn["friction"] * asked.power / speed**2,
        saturation=Saturation(drawn["share"], drawn["exponent"], drawn["emf"] * asked.voltage),
    )


def sellable(circuits: CapacitorRun, asked: Asked):
    """Which of the circuits a maker would sell; True or False for each.

    Efficiency, power factor, breakdown torque and capacitor voltage as such motors have them, the
    capacitor within its rating on a high line and a light fan, a start on a low line (common
    practice, no source).
    """
    volts, hertz, slip = asked.voltage, asked.frequency, asked.slip
    rated = circuits.balance(volts, hertz, slip)
    slips = np.linspace(0.05, 0.8, 26)[:, None]
    breakdown = circuits.balance(volts, hertz, slips).torque.max(axis=0) / rated.torque
    beyond = circuits.balance(volts, hertz, 1.02 * slip).torque
    usual = 0.615 + 0.056 * np.log(3 * asked.power / HORSEPOWER)  # larger motors lose less
    standing = circuits.balance(LOW_LINE * volts, hertz, np.ones(TRIES)).torque
    line = LINES[volts]
    light = circuits.balance(line.highest * volts, hertz, 0.8 * asked.lightest * slip)
    return (
        _between(rated.power_out / asked.power, 0.999999, 1.000001)
        & _between(rated.power_out / rated.power_in, usual - 0.06, usual + 0.06)
        & _between(rated.power_in / np.abs(rated.current) / volts, 0.85, 0.98)
        & _between(breakdown, 1.4, 2.2)
        & _between(np.abs(rated.voltage_capacitor) / volts, *line.capacitor_over_line)
        & (np.abs(light.voltage_capacitor) < asked.capacitor_voltage)
        & (beyond > rated.torque)
        & (standing > 2 * BREAKAWAY * rated.torque / (1 - slip) ** 2)
    )


def _between(value, low, high):
    return (low <= value) & (value <= high)


# By frame: body and shaft diameter [in]; all invented.
BODIES = {"42": 5.0, "48": 5.6, "56": 6.4}
SHAFTS = {"42": 0.375, "48": 0.5, "56": 0.625}
BORES = {"42": 12, "48": 15, "56": 17}  # of the ball bearings [mm]: the next above the shaft
# One cell in forty of these is empty, as in the catalogues of real makers.
OFTEN_EMPTY = (
    "capacitor voltage", "insulation class", "rotation seen from", "bearing bore", "body length",
    "mass", "shaft positions", "drain plugs", "protector", "price", "warranty from manufacture",
)  # fmt: skip
EMPTY_SHARE = 1 / 40


def row(design: Design, at: int) -> dict[str, str]:
    """The cells of the motor at line ``at`` of the catalogue, by the name of their column."""
    rng = np.random.default_rng([SEED, at, 1])
    cells = _of_family(design, at) | _of_circuit(design) | _of_body(design, rng)
    empty = rng.uniform(size=len(OFTEN_EMPTY)) < EMPTY_SHARE
    return cells | {name: "" for name, lost in zip(OFTEN_EMPTY, empty) if lost}


def _of_family(design: Design, at: int) -> dict[str, str]:
    family, number = design.family, design.number
    rotation = _in_turn(family.rotation, number)
    installed, made = family.warranty
    return {
        "maker": f"Example Motors {family.maker}",
        "model": f"demo-{family.maker}{at + 1:03d}",
        "kind": "permanent split capacitor",
        "voltage": family.voltage,
        "frequency": f"{family.frequency}",
        "phase": "1",
        "poles": f"{family.poles}",
        "capacitor voltage": f"{family.capacitor_voltage}",
        "insulation class": family.insulation,
        "ambient rating": f"{family.ambient}",
        "bearings": family.bearings,
        "rotation": rotation,
        "rotation seen from": "" if rotation == "reversible" else _seen_from(at),
        "frame": family.frame,
        "mounting": _in_turn(family.mounting, number),
        "shaft positions": family.positions,
        "drain plugs": _in_turn(family.plugs, number),
        "enclosure": family.enclosure,
        "protector": "automatic thermal",
        "warranty from installation": f"{installed}",
        "warranty from manufacture": f"{made}",
    }


def _seen_from(at: int) -> str:
    """The end that a plate's arrow is seen from: mostly the leads'."""
    return "shaft end" if at % 5 == 0 else "lead end"


def _of_circuit(design: Design) -> dict[str, str]:
    """What the circuit gives on the fan of each rating; amps finer where ratings lie close."""
    figures = 2 if len(design.ratings) == 1 else 3
    amps = np.abs(design.on_fans(design.voltage).solution.current)
    return {
        "speed": f"{design.plate_rpm}",
        "ratings": design.family.ratings[design.number],
        "currents": "; ".join(f"{a:.{figures}g}" for a in amps),
        "capacitor": f"{design.circuit.capacitance * 1e6:g}",
    }


def _of_body(design: Design, rng) -> dict[str, str]:
    """A body that grows with torque, and what goes with it."""
    family, number = design.family, design.number
    torque = design.ratings[-1] / design.plate_rpm / (HORSEPOWER / 1075)  # hp at 1075 rpm
    diameter = BODIES[family.frame] + rng.choice([0.0, 0.025, -0.1])
    stretch = (BODIES["48"] / diameter) ** 2 * (1.0 if family.bearings == "sleeve" else 1.04)
    length = _eighths((2.8 + 5.0 * torque**0.8) * stretch * rng.uniform(0.94, 1.06))
    price = (52 + 105 * torque) * family.dearness * rng.uniform(0.93, 1.07)
    return {
        "shaft diameter": f"{SHAFTS[family.frame]}",
        "shaft length": f"{_in_turn(family.shafts, number):g}",
        "body diameter": f"{diameter:g}",
        "body length": f"{length:g}",
        "bearing bore": f"{BORES[family.frame]}" if family.bearings == "ball" else "",
        "mass": f"{0.11 * np.pi / 4 * diameter**2 * length * rng.uniform(0.95, 1.05):.1f}",
        "price": f"{price:.0f}",
    }


def _eighths(inches: float) -> float:
    return round(inches * 8) / 8


def catalogue(line: list[Design]) -> str:
    """The text of catalogue.csv for the motors of ``designs()``."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(column.heading for column in COLUMNS)
    for at, design in enumerate(line):
        cells = row(design, at)
        writer.writerow(cells[column.name] for column in COLUMNS)
    return text.getvalue()


if __name__ == "__main__":
    text = catalogue(designs())
    Path(__file__).with_name("catalogue.csv").write_text(text, encoding="utf-8", newline="")

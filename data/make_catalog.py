"""Generate catalogue.csv next to this file: an invented line of fan motors.

Models, prices and warranties are invented. The electrical figures are calculated: the parameters of
a motor's equivalent circuit are sampled from the ranges below and scaled to the impedance level at
which the motor delivers its rated power with a standard capacitor; amps and capacitor voltage are
then calculated from the circuit. A design that no manufacturer would sell (see ``sellable`` and
``balanced``) is rejected and sampled again. The ranges use no measured motor and were written
independently of the priors in ``airover.model.identify``.

Command: python data/make_catalog.py
"""

import csv
import io
from fractions import Fraction
from pathlib import Path
from typing import NamedTuple

import numpy as np

from airover.core.units import coherent
from airover.physics.circuit import CapacitorRun, Saturation
from airover.physics.operating_point import BREAKAWAY, fan_coefficient, settle
from airover.records.catalog import COLUMNS

SEED = 1
TRIES = 500  # samples of a design per round
ROUNDS = 20  # rounds before the search stops with an error
HORSEPOWER = coherent(1.0, "power", "hp", "horsepower")  # W
CAPACITORS = np.array([2, 2.5, 3, 4, 5, 6, 7.5, 10, 12.5, 15, 17.5, 20, 25, 30, 35, 40]) * 1e-6
LOW_SUPPLY = 0.85  # times nominal voltage: a motor still starts
HIGH_SUPPLY = 1.10  # times nominal voltage: the capacitor still is within its limit
CAPACITOR_EXCESS = 1.10  # limit over rated voltage (IEC 60252-1, from memory, not verified)
SPEED_SCATTER = 15.0  # rpm: full-load speed above or below the nameplate speed

# Sampling ranges: uniform between two limits, engineering judgment. Impedances are relative to the
# magnetizing reactance; auxiliary impedances are also per turns ratio squared.
ONE_RATING = {
    "R1": (0.08, 0.22), "X1": (0.07, 0.18), "X2": (0.05, 0.14), "R2_per_slip": (1.2, 2.6),
    "R_aux": (0.10, 0.30), "X_aux": (0.06, 0.18), "X_capacitor": (1.3, 2.5), "turns": (0.9, 1.45),
    "core": (0.05, 0.15), "friction": (0.010, 0.040),  # fractions of rated power
    "share": (0.12, 0.36), "exponent": (4.5, 7.5),  # saturation
    "emf": (0.84, 0.96),  # air-gap voltage over supply voltage for this reactance
}  # fmt: skip
# Larger frame for the same power: less magnetizing current and less resistance, so that the motor
# is efficient at light loads as well and draws few amps.
SEVERAL_RATINGS = ONE_RATING | {
    "R1": (0.035, 0.10), "X1": (0.02, 0.06), "X2": (0.02, 0.06), "R2_per_slip": (0.7, 1.2),
    "R_aux": (0.045, 0.14), "X_aux": (0.02, 0.07), "X_capacitor": (0.8, 1.7), "turns": (0.9, 1.5),
    "core": (0.04, 0.14), "emf": (0.88, 1.0),
}  # fmt: skip
# Ratio of resistances and losses to the values in ONE_RATING: (hp / (1/3 hp)) to this power;
# losses are larger in small motors.
SIZE_EXPONENT = -0.3
LOSSY = "R1", "R_aux", "core", "friction"
# Full-load efficiency: median at 1/3 hp, and increase per e-fold increase in power.
USUAL_EFFICIENCY = {"one rating": (0.56, 0.08), "several ratings": (0.595, 0.03)}
EFFICIENCY_SPREAD = 0.07  # above or below the median
# Fraction of the supply voltage across auxiliary winding and capacitor. At 460 V both are connected
# to the main winding's midpoint, for a standard capacitor (common practice, no source).
TAP = {115: 1.0, 230: 1.0, 460: 0.5}
# At 115 V, the auxiliary winding has about as many turns as at 230 V, and the main winding half as
# many. The same 370 V capacitor with few microfarads can then be used, closer to its rated voltage,
# but it balances the windings less well: the power factor is lower, and the amps are more than
# twice those at 230 V (common practice, no source: 5 to 7.5 uF for 1/6 to 1/3 hp).
TURNS_AT_115 = 2.0  # times the turns ratio in ONE_RATING and SEVERAL_RATINGS
# Ranges at rated load by supply voltage.
CAPACITOR_OVER_SUPPLY = {115: (1.9, 2.9), 230: (1.25, 1.9), 460: (1.25, 1.9)}  # V/V before the tap
POWER_FACTOR = {115: (0.65, 0.99), 230: (0.85, 0.99), 460: (0.85, 0.99)}
CAPACITOR_POWER = {115: (0.6, 1.2), 230: (0, np.inf), 460: (0, np.inf)}  # var per W of output

SINGLE = ("1/8", "1/6", "1/5", "1/4", "1/3", "1/2", "3/4")
SMALL = ("1/12", "1/10")
LADDERS = ("1/8; 1/6; 1/5; 1/4", "1/6; 1/5; 1/4; 1/3", "1/4; 1/3; 1/2", "1/3; 1/2; 3/4")
TO_QUARTER, TO_THIRD, TO_HALF, TO_THREE_QUARTERS = ((ladder,) for ladder in LADDERS)
ALL_POSITIONS, NOT_UP = "up; down; horizontal", "down; horizontal"
ALL_MOUNTINGS = "shell holes; through-bolts; belly band"


class Family(NamedTuple):
    """Motors of one product line, identical except for power: one per entry in ``ratings``."""

    line: str
    ratings: tuple[str, ...]  # hp
    rpm: tuple[int, ...] = (1075,)  # nameplate speeds, in turn
    poles: int = 6
    voltage: str = "208-230"
    frequency: int = 60
    capacitor_voltage: int = 370
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
    price_level: float = 1.0
    warranty: tuple[int, int] = (12, 18)  # months from installation, from manufacture


FIXED = ("counterclockwise", "clockwise")
_440 = {"capacitor_voltage": 440}
_BASIC = {"mounting": (ALL_MOUNTINGS,)}
_GOOD = {
    "insulation": "F", "ambient": 70, "bearings": "ball", "mounting": (ALL_MOUNTINGS,),
    "shafts": (6.0, 7.5, 5.5), "warranty": (36, 42), "price_level": 1.5, **_440,
}  # fmt: skip
_PLAIN = {
    "ambient": 40, "rotation": FIXED, "shafts": (5.0, 4.0, 3.0, 6.0), "positions": NOT_UP,
    "mounting": ("shell holes",), "plugs": ("shaft end", "lead end", "none"), "price_level": 0.75,
}  # fmt: skip
_LARGE = _GOOD | {"frame": "56", "mounting": ("through-bolts", "base; through-bolts")}
_LONG = {
    "insulation": "F", "shafts": (7.5, 7.0, 6.5), "warranty": (24, 30), "price_level": 1.25,
    "mounting": ("through-bolts; belly band", ALL_MOUNTINGS), **_440,
}  # fmt: skip
_OPEN = {
    "enclosure": "open air over", "insulation": "A", "ambient": 40, "plugs": ("none",),
    "mounting": ("shell holes; belly band",), "rotation": ("reversible", *FIXED),
    "price_level": 0.8,
}  # fmt: skip
_SMALL = _PLAIN | {"frame": "42", "enclosure": "open air over", "positions": ALL_POSITIONS}
_USUAL = {"shafts": (6.0, 5.5, 6.5), "warranty": (24, 30)}
_BALL = {"bearings": "ball", "ambient": 40, "plugs": ("both ends", "shaft end")}
_460 = {"voltage": "460", "price_level": 1.2}
_115 = {"voltage": "115"}
_230 = {"voltage": "230"}
_50 = {"voltage": "230", "frequency": 50, "price_level": 1.2, **_440}
FAMILIES = (
    Family("A", SINGLE, **_BASIC),
    Family("A", LADDERS + TO_THIRD, **_BASIC, **_440),
    Family("A", SINGLE[:6], (825,), 8, **_BASIC),
    Family("A", LADDERS, (825,), 8, **_BASIC, **_440),
    Family("A", SINGLE[:6] + SMALL, (1075, 1050), **_PLAIN),
    Family("A", SINGLE[:5], (825, 810), 8, **_PLAIN),
    Family("A", SMALL + SINGLE[:5], (1075, 1050), **_PLAIN, **_115),
    Family("A", SINGLE[2:], **_BASIC, **_460),
    Family("B", SINGLE + LADDERS + TO_THIRD + TO_HALF + ("1/3; 1/2",), (1075, 1100), **_GOOD),
    Family("B", SINGLE[1:] + LADDERS, (825, 850), 8, **_GOOD),
    Family("B", SINGLE[2:] + LADDERS[1:], (1075, 1100), **_GOOD | {"voltage": "460"}),
    Family("B", SINGLE[3:6] + TO_HALF, (825, 850), 8, **_GOOD | {"voltage": "460"}),
    Family("B", SINGLE[3:6], (1625, 1650), 4, **_GOOD),
    Family("C", SINGLE[1:], **_USUAL),
    Family("C", SINGLE[:6], (1075, 1100), plugs=("both ends", "shaft end"), **_USUAL),
    Family("C", LADDERS + TO_THIRD + TO_HALF, **_USUAL, **_440),
    Family("C", SINGLE[2:6], rotation=FIXED, plugs=("both ends", "shaft end")),
    Family("C", SINGLE[1:6], (825, 850), 8, **_USUAL),
    Family("C", LADDERS[:3] + TO_THIRD, (825,), 8, **_USUAL, **_440),
    Family("C", SINGLE[3:] + TO_HALF, **_460),
    Family("C", SINGLE[3:6], (825,), 8, **_460),
    Family("C", SINGLE[:5], (1625, 1650), 4, shafts=(4.0, 5.0), plugs=("lead end",)),
    Family("C", SINGLE[1:6] + LADDERS[1:], **_LONG),
    Family("C", SINGLE[1:5] + TO_QUARTER + TO_HALF, (825, 850), 8, **_LONG),
    Family("C", SINGLE[:6], (1075, 1050), **_OPEN),
    Family("C", SINGLE[1:5], (825, 810), 8, **_OPEN),
    Family("C", SINGLE[1:6], **_230),
    Family("C", SINGLE[1:5] + TO_QUARTER + TO_THIRD, **_115),
    Family("D", SINGLE[1:6] + TO_QUARTER + TO_THIRD, **_BALL),
    Family("D", SINGLE[2:6], (825,), 8, **_BALL),
    Family("D", SINGLE[5:] + ("1",), (1075, 1100), **_LARGE),
    Family("D", SINGLE[5:] + ("1",), (825, 850), 8, **_LARGE),
    Family("D", SINGLE[5:] + ("1",) + TO_THREE_QUARTERS, **_LARGE | {"voltage": "460"}),
    Family("D", TO_THIRD + TO_HALF, (825,), 8, **_460),
    Family("D", SINGLE[:3] + SMALL, (1050, 1075), **_SMALL),
    Family("D", SINGLE[:3] + SMALL, (1550,), 4, **_SMALL),
    Family("D", SINGLE[2:5], (825,), 8, **_230),
    Family("D", SINGLE[1:6], (900, 910), **_50),
    Family("D", SINGLE[2:5], (690, 680), 8, **_50),
    Family("D", SINGLE[:4], (1350, 1380), 4, **_50),
)


class Design(NamedTuple):
    """Motor and its equivalent circuit, which the catalog does not state.

    The circuit delivers the highest of ``ratings`` [W] at ``voltage`` [V] and ``speed_rpm`` with
    hot windings; the nameplate speed is ``nameplate_rpm``. In ``circuit``, an auxiliary winding fed
    from a ``tap`` of the main winding is represented by the equivalent winding across the full
    supply voltage: its turns are divided by the tap, and its impedances (including the capacitor's)
    by the square of the tap. The true capacitance is therefore 1/tap^2 times the value in the
    circuit, and the true capacitor voltage is the circuit's voltage times the tap.
    """

    family: Family
    number: int  # index within its family
    model: str
    ratings: np.ndarray
    nameplate_rpm: int
    voltage: int
    tap: float
    speed_rpm: float
    circuit: CapacitorRun

    def on_fans(self, voltage):
        """Return operating points at ``voltage`` [V] on the cube-law fan of each rating."""
        fans = fan_coefficient(self.ratings, self.speed_rpm)
        return settle(self.circuit, voltage, self.family.frequency, fans)


class Wanted(NamedTuple):
    """Requirements on a circuit: the highest of ``ratings`` [W] at ``voltage`` [V] and ``slip``."""

    poles: int
    frequency: float
    voltage: int
    tap: float
    ratings: np.ndarray
    slip: np.ndarray  # shape (TRIES,)
    capacitor_voltage: int

    @property
    def power(self) -> float:
        return self.ratings[-1]


def designs() -> list[Design]:
    """Return all motors in catalog order, identical on every run."""
    found, counts = [], dict.fromkeys("ABCD", 0)
    for family in FAMILIES:
        for number in range(len(family.ratings)):
            counts[family.line] += 1
            model = f"{family.line}-{counts[family.line]:03d}"
            found.append(_design(family, number, model, [SEED, len(found)]))
    return found


def _design(family: Family, number: int, model: str, seed) -> Design:
    """Return the first sellable motor among random designs."""
    voltage = int(family.voltage.split("-")[-1])
    ratings = HORSEPOWER * np.array([float(Fraction(r)) for r in family.ratings[number].split(";")])
    nameplate_rpm = _in_turn(family.rpm, number)
    for again in range(ROUNDS):
        rng = np.random.default_rng([*seed, again])
        speed_rpm = nameplate_rpm + rng.uniform(-SPEED_SCATTER, SPEED_SCATTER, TRIES)
        slip = 1 - speed_rpm * family.poles / (120 * family.frequency)
        wanted = Wanted(
            family.poles, family.frequency, voltage, TAP[voltage], ratings, slip,
            family.capacitor_voltage,
        )  # fmt: skip
        circuits = _circuits(wanted, _samples(ratings, voltage, rng))
        good = np.flatnonzero(sellable(circuits, wanted))
        if len(ratings) > 1 and good.size:
            good = good[balanced(_picked(circuits, good), wanted, slip[good])]
        if good.size:
            break
    else:
        raise ArithmeticError(f"no sellable design of {family.ratings[number]} hp in {family}")
    return Design(
        family, number, model, ratings, nameplate_rpm, voltage, wanted.tap, speed_rpm[good[0]],
        _picked(circuits, good[0]),
    )  # fmt: skip


def _picked(circuits: CapacitorRun, which) -> CapacitorRun:
    return circuits.rearranged(lambda value: np.broadcast_to(value, TRIES)[which])


def _samples(ratings, voltage: int, rng):
    """Return sampled parameters for motors with these ``ratings`` [W] at ``voltage`` [V]."""
    recipe = ONE_RATING if len(ratings) == 1 else SEVERAL_RATINGS
    sampled = {name: rng.uniform(*ends, TRIES) for name, ends in recipe.items()}
    if len(ratings) == 1:
        for name in LOSSY:
            sampled[name] *= (3 * ratings[0] / HORSEPOWER) ** SIZE_EXPONENT
    if voltage == 115:
        sampled["turns"] *= TURNS_AT_115
    return sampled


def _in_turn(choices, number: int):
    return choices[number % len(choices)]


def _circuits(wanted: Wanted, sampled) -> CapacitorRun:
    """Return circuits with the standard capacitors closest to the sampled ones."""
    standard = CAPACITORS * wanted.tap**2
    level = np.full(TRIES, 0.7 * wanted.voltage**2 / wanted.power)
    for steps in (5, 12):
        reactance = sampled["X_capacitor"] * sampled["turns"] ** 2 * level
        ideal = 1 / (2 * np.pi * wanted.frequency * reactance)
        nearest = np.abs(np.log(standard / ideal[:, None])).argmin(axis=1)
        level = _level(wanted, sampled, standard[nearest], level, steps)
    return _circuit(wanted, sampled, standard[nearest], level)


def _level(wanted: Wanted, sampled, capacitance, level, steps):
    """Return the magnetizing reactance [ohm] at which the shaft delivers the rated power.

    Power is nearly inversely proportional to the impedance level, so the power error is used as the
    next correction.
    """
    for _ in range(steps):
        circuit = _circuit(wanted, sampled, capacitance, level)
        power = circuit.balance(wanted.voltage, wanted.frequency, wanted.slip).power_out
        level = level * np.clip(power / wanted.power, 0.7, 1.4)
    return level


def _circuit(wanted: Wanted, sampled, capacitance, level) -> CapacitorRun:
    """Return the sampled circuit at an impedance ``level`` [ohm].

    The auxiliary current in half of a tapped main winding adds the main winding's resistance times
    (1 - tap) / tap to the resistance of the equivalent auxiliary winding (Kirchhoff; mutual leakage
    between the two halves is neglected).
    """
    a = sampled["turns"]
    speed = (1 - wanted.slip) * 4 * np.pi * wanted.frequency / wanted.poles
    main_in_aux = sampled["R1"] * (1 - wanted.tap) / wanted.tap
    return CapacitorRun(
        wanted.poles,
        wanted.frequency,
        R1=sampled["R1"] * level,
        X1=sampled["X1"] * level,
        R2=sampled["R2_per_slip"] * wanted.slip * level,
        X2=sampled["X2"] * level,
        Xm=level,
        turns_ratio=a,
        R_aux=(sampled["R_aux"] * a**2 + main_in_aux) * level,
        X_aux=sampled["X_aux"] * a**2 * level,
        capacitance=capacitance,
        core_conductance=sampled["core"] * wanted.power / wanted.voltage**2,
        friction=sampled["friction"] * wanted.power / speed**2,
        saturation=Saturation(
            sampled["share"], sampled["exponent"], sampled["emf"] * wanted.voltage
        ),
    )


def sellable(circuits: CapacitorRun, wanted: Wanted):
    """Return True for each circuit that a manufacturer would sell.

    Requirements: usual efficiency, power factor, breakdown torque, capacitor voltage and power; the
    capacitor within its limit at high supply voltage and low fan load; a start at low supply
    voltage (common practice, no source).
    """
    volts, hertz, slip = wanted.voltage, wanted.frequency, wanted.slip
    rated = circuits.balance(volts, hertz, slip)
    amps = np.abs(rated.current)
    reactive = np.abs(rated.voltage_capacitor * rated.current_aux)
    slips = np.linspace(0.05, 0.8, 26)[:, None]
    breakdown = circuits.balance(volts, hertz, slips).torque.max(axis=0) / rated.torque
    beyond = circuits.balance(volts, hertz, 1.02 * slip).torque
    middle, gain = USUAL_EFFICIENCY["one rating" if len(wanted.ratings) == 1 else "several ratings"]
    usual = middle + gain * np.log(3 * wanted.power / HORSEPOWER)
    efficiency = rated.power_out / rated.power_in
    standing = circuits.balance(LOW_SUPPLY * volts, hertz, np.ones(TRIES)).torque
    lightest = wanted.ratings[0] / wanted.power
    light = circuits.balance(HIGH_SUPPLY * volts, hertz, 0.8 * lightest * slip)
    capacitor, highest = (
        wanted.tap * np.abs(at.voltage_capacitor) / wanted.capacitor_voltage
        for at in (rated, light)
    )
    return (
        _between(rated.power_out / wanted.power, 0.999999, 1.000001)
        & (np.abs(efficiency - usual) < EFFICIENCY_SPREAD)
        & _between(rated.power_in / (volts * amps), *POWER_FACTOR[volts])
        & _between(reactive / wanted.power, *CAPACITOR_POWER[volts])
        & _between(breakdown, 1.4, 2.2)
        & _between(np.abs(rated.voltage_capacitor) / volts, *CAPACITOR_OVER_SUPPLY[volts])
        & (capacitor < 1)
        & (highest < CAPACITOR_EXCESS)
        & (beyond > rated.torque)
        & (standing > 2 * BREAKAWAY * rated.torque / (1 - slip) ** 2)
    )


def balanced(circuits: CapacitorRun, wanted: Wanted, slip):
    """Return True for each circuit suitable for a well-designed motor with several ratings.

    At half load the motor draws less than three quarters of full-load amps, and efficiency is
    nearly constant between half and full load. The capacitor balances the windings best near three
    quarters of full load, not at full load: the backward field there is weaker than at full load
    and close to its minimum (common practice, no source).
    """
    rpm = (1 - slip) * 120 * wanted.frequency / wanted.poles
    loads = np.array([0.5, 0.75, 1.0])[:, None] * wanted.power
    at = settle(circuits, wanted.voltage, wanted.frequency, fan_coefficient(loads, rpm)).solution
    turned = 1j * circuits.turns_ratio * at.current_aux
    backward = np.abs(at.current_main + turned) / np.abs(at.current_main - turned)
    amps = np.abs(at.current)
    return (
        (amps[0] < 0.75 * amps[2])
        & (np.ptp(at.power_out / at.power_in, axis=0) < 0.05)
        & (backward[1] < backward[2])
        & (backward[1] < 1.1 * backward[0])
    )


def _between(value, low, high):
    return (low <= value) & (value <= high)


# Body and shaft diameter [in] by frame; all invented.
BODIES = {"42": 5.0, "48": 5.6, "56": 6.4}
SHAFTS = {"42": 0.375, "48": 0.5, "56": 0.625}
BORES = {"42": 12, "48": 15, "56": 17}  # ball-bearing bores [mm]: the next size above the shaft
# One in forty of these cells is empty, as in real catalogs.
OFTEN_EMPTY = (
    "capacitor voltage", "insulation class", "rotation seen from", "bearing bore", "body length",
    "mass", "shaft positions", "drain plugs", "protector", "price", "warranty from manufacture",
)  # fmt: skip
EMPTY_SHARE = 1 / 40


def row(design: Design, at: int) -> dict[str, str]:
    """Return the cells of the motor in row ``at`` of the catalog, by column name."""
    rng = np.random.default_rng([SEED, at, 1])
    cells = _of_family(design, at) | _of_circuit(design) | _of_body(design, rng)
    empty = rng.uniform(size=len(OFTEN_EMPTY)) < EMPTY_SHARE
    return cells | {name: "" for name, lost in zip(OFTEN_EMPTY, empty) if lost}


def _of_family(design: Design, at: int) -> dict[str, str]:
    family, number = design.family, design.number
    rotation = _in_turn(family.rotation, number)
    installed, made = family.warranty
    return {
        "maker": "Demo",
        "model": design.model,
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
    """Return the end from which a nameplate's rotation arrow is viewed: usually the lead end."""
    return "shaft end" if at % 5 == 0 else "lead end"


def _of_circuit(design: Design) -> dict[str, str]:
    """Return amps at each rating, rounded up as on nameplates, and the capacitor at the tap."""
    amps = np.abs(design.on_fans(design.voltage).solution.current)
    decimals = 2 if len(amps) > 1 or amps[0] < 1 else 1  # two decimals distinguish close ratings
    printed = np.ceil(amps * 10**decimals - 1e-6) / 10**decimals
    return {
        "speed": f"{design.nameplate_rpm}",
        "ratings": design.family.ratings[design.number],
        "currents": "; ".join(f"{a:.{decimals}f}" for a in printed),
        "capacitor": f"{design.circuit.capacitance.item() / design.tap**2 * 1e6:g}",
    }


def _of_body(design: Design, rng) -> dict[str, str]:
    """Return dimensions that increase with torque, and the properties that depend on them."""
    family, number = design.family, design.number
    torque = design.ratings[-1] / design.nameplate_rpm / (HORSEPOWER / 1075)  # hp at 1075 rpm
    diameter = BODIES[family.frame] + rng.choice([0.0, 0.025, -0.1])
    stretch = (BODIES["48"] / diameter) ** 2 * (1.0 if family.bearings == "sleeve" else 1.04)
    length = _eighths((2.8 + 5.0 * torque**0.8) * stretch * rng.uniform(0.94, 1.06))
    price = (52 + 105 * torque) * family.price_level * rng.uniform(0.93, 1.07)
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


def catalog(line: list[Design]) -> str:
    """Return the text of catalogue.csv for the motors from ``designs()``."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(column.heading for column in COLUMNS)
    for at, design in enumerate(line):
        cells = row(design, at)
        writer.writerow(cells[column.name] for column in COLUMNS)
    return text.getvalue()


if __name__ == "__main__":
    text = catalog(designs())
    Path(__file__).with_name("catalogue.csv").write_text(text, encoding="utf-8", newline="")

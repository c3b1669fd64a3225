"""Three independent populations of motors for the calibration test, none by the kit's priors.

1. ``uniform_motors``: every share evenly likely between two ends, in the kit's circuit.
2. ``catalog_motors``: the circuits from which data/make_catalog.py makes its nameplates.
3. ``unlike_motors``: another motor model, with effects that the kit's circuit lacks: deep bars by
   the exact formula, leakage that saturates with current, iron of another shape, stray load loss,
   torque of the third space harmonic, windings that are not in quadrature, and windage.

All shares are engineering judgment; what no maker would sell is thrown away.
"""

import functools
import importlib.util
from dataclasses import dataclass, replace

import numpy as np

from airover.core.files import data_folder
from airover.model.identify import Ratings
from airover.physics import compiled, insulation, operating_point
from airover.physics.circuit import CapacitorRun, Saturation
from airover.physics.operating_point import fan_coefficient

CAPACITORS = np.array([2, 3, 4, 5, 6, 7.5, 10, 12.5, 15, 20, 25, 30]) * 1e-6
VOLTAGE, FREQUENCY, HORSEPOWER = 230.0, 60.0, 745.6999
VOLTAGES = np.array([180.0, 208.0, 230.0, 245.0, 260.0])
settle = compiled.settle if compiled.AVAILABLE else operating_point.settle
CLASS_RPM = {4: 1625.0, 6: 1075.0, 8: 825.0}


@dataclass
class Motors:
    """Motors for 230 V, 60 Hz, whose every figure is known; arrays of shape (motors,).

    ``power`` [W], ``current`` [A] and ``speed_rpm`` are true at the rating; ``figures`` are true
    values by name: (motors, voltages) on the rated cube-law fan, or (motors,).
    """

    poles: np.ndarray
    power: np.ndarray
    current: np.ndarray
    speed_rpm: np.ndarray
    capacitance: np.ndarray
    losses: np.ndarray  # W at the rating
    figures: dict

    def __len__(self):
        return len(self.power)

    def part(self, number: int) -> "Motors":
        """The first ``number`` of them."""
        figures = {name: value[:number] for name, value in self.figures.items()}
        cut = {k: v[:number] for k, v in vars(self).items() if k != "figures"}
        return Motors(**cut, figures=figures)

    def plates(self, amps_ratio=1.0, speed_rpm=None) -> Ratings:
        """Nameplates with amps ``amps_ratio`` times the true ones."""

        def everywhere(value):
            return np.full(len(self), value)

        return Ratings(
            voltage=everywhere(VOLTAGE),
            frequency=everywhere(FREQUENCY),
            poles=self.poles,
            power=self.power,
            current=self.current * amps_ratio,
            speed_rpm=self.speed_rpm if speed_rpm is None else speed_rpm,
            capacitance=self.capacitance,
            capacitor_voltage=everywhere(np.nan),
        )

    @property
    def class_rpm(self):
        return np.array([CLASS_RPM[int(p)] for p in self.poles])


def figures_of(circuit: CapacitorRun, coefficient) -> dict:
    """Figures of circuits of any shape (..., samples or motors); voltages go to the end."""
    column = circuit.rearranged(lambda value: np.broadcast_to(value, circuit.shape)[..., None])
    at = settle(column, VOLTAGES, FREQUENCY, np.asarray(coefficient)[..., None]).solution
    slips = np.linspace(0.05, 0.6, 23)
    torque = column.balance(VOLTAGE, FREQUENCY, slips).torque
    return {
        "amps": np.abs(at.current),
        "watts": at.power_in,
        "rpm": at.speed_rpm,
        "locked-rotor amps": np.abs(circuit.balance(VOLTAGE, FREQUENCY, 1.0).current),
        "breakdown torque": torque.max(axis=-1),
    }


def _motors(circuit: CapacitorRun, power, speed_rpm) -> Motors:
    slip = 1 - speed_rpm * circuit.poles / (120 * FREQUENCY)
    rated = circuit.balance(VOLTAGE, FREQUENCY, slip)
    return Motors(
        poles=circuit.poles,
        power=power,
        current=np.abs(rated.current),
        speed_rpm=speed_rpm,
        capacitance=circuit.capacitance,
        losses=rated.loss,
        figures=figures_of(circuit, fan_coefficient(power, speed_rpm)),
    )


@dataclass
class Truths:
    """Circuits of uniform motors and what their nameplates say, rounded as printed ones are."""

    circuit: CapacitorRun
    power: np.ndarray
    speed_rpm: np.ndarray
    plate_current: np.ndarray
    plate_rpm: np.ndarray


def truths(number: int, seed: int) -> Truths:
    """``number`` sellable motors whose iron saturates in the kit's form, its knee at the rating."""
    rng = np.random.default_rng(seed)
    size = 12 * number
    poles = rng.choice([6, 8], size, p=[0.65, 0.35])
    slip = np.where(poles == 6, rng.uniform(0.075, 0.125, size), rng.uniform(0.06, 0.105, size))
    power = HORSEPOWER * rng.choice([1 / 8, 1 / 6, 1 / 5, 1 / 4, 1 / 3, 1 / 2, 3 / 4], size)
    circuit = _circuits(rng, size, poles, slip, power)
    good = _sellable(circuit, slip)
    rated = circuit.solve(VOLTAGE, FREQUENCY, slip)
    circuit = _saturated(rng, size, circuit, rated.emf)
    keep = np.flatnonzero(good)[:number]
    assert len(keep) == number, f"the recipe gave {len(keep)} motors only"
    amps, rpm = np.abs(rated.current)[keep], rated.speed_rpm[keep]
    return Truths(
        circuit.rearranged(lambda value: np.broadcast_to(value, size)[keep]),
        power=rated.power_out[keep],
        speed_rpm=rpm,
        plate_current=np.where(amps < 1, np.round(amps, 2), np.round(amps, 1)),
        plate_rpm=np.round(rpm / 5) * 5,
    )


def uniform_motors(number: int, seed: int) -> Motors:
    """The same motors with their true figures."""
    made = truths(number, seed)
    return _motors(made.circuit, made.power, made.speed_rpm)


def _circuits(rng, size, poles, slip, power) -> CapacitorRun:
    def between(low, high):
        return rng.uniform(low, high, size)

    base = VOLTAGE**2 * between(0.45, 0.64) / power
    a, per_ohm, leakage = between(1.0, 1.6), between(0.09, 0.20), between(0.08, 0.18)
    wanted = 1 / (2 * np.pi * FREQUENCY * between(2.2, 3.4) * base)
    speed = (1 - slip) * 4 * np.pi * FREQUENCY / poles
    return CapacitorRun(
        poles=poles,
        frequency=FREQUENCY,
        R1=per_ohm * base,
        X1=leakage * base,
        R2=between(1.8, 2.9) * slip * base,
        X2=between(0.6, 1.4) * leakage * base,
        Xm=between(1.0, 1.7) * base,
        turns_ratio=a,
        R_aux=between(0.9, 1.5) * a**2 * per_ohm * base,
        X_aux=between(0.8, 1.2) * a**2 * leakage * base,
        capacitance=CAPACITORS[np.abs(np.log(wanted[:, None] / CAPACITORS)).argmin(axis=1)],
        core_conductance=between(0.05, 0.11) * power / VOLTAGE**2,
        friction=between(0.008, 0.025) * power / speed**2,
    )


def _saturated(rng, size, circuit, emf) -> CapacitorRun:
    """The same motors with iron that saturates, unchanged at their rating."""
    saturation = Saturation(rng.uniform(0.1, 0.4, size), rng.uniform(4.0, 8.0, size), emf)
    return replace(circuit, saturation=saturation)


def _sellable(circuit, slip):
    at = circuit.solve(VOLTAGE, FREQUENCY, slip)
    slips = np.linspace(0.12, 0.6, 9)[:, None]
    breakdown = circuit.solve(VOLTAGE, FREQUENCY, slips).torque.max(axis=0) / at.torque
    standing = circuit.solve(0.85 * VOLTAGE, FREQUENCY, 1.0).torque
    beyond = circuit.solve(VOLTAGE, FREQUENCY, 1.02 * slip).torque
    return (
        _between(at.power_out / at.power_in, 0.45, 0.69)
        & _between(at.power_in / (VOLTAGE * np.abs(at.current)), 0.83, 0.99)
        & _between(breakdown, 1.35, 2.4)
        & _between(np.abs(at.voltage_capacitor) / VOLTAGE, 1.2, 1.9)
        & (standing > 0.05 * at.torque)
        & (beyond > at.torque)
    )


def _between(value, low, high):
    return (low <= value) & (value <= high)


@functools.cache
def catalog_script():
    """The script that made the demo catalog, with the compiled form of `settle` if there is one."""
    path = data_folder() / "make_catalog.py"
    spec = importlib.util.spec_from_file_location("make_catalog", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    module.settle = settle
    return module


@functools.cache
def catalog_designs() -> list:
    """The designs behind the motors of the demo catalog."""
    return catalog_script().designs()


def catalog_motors(several_ratings=False) -> Motors:
    """The demo catalog's motors for 230 V and 60 Hz at their highest rating; all, or those of
    ``several_ratings`` with the ``lowest`` one's power [W] and true amps among the figures."""
    rows = [one for one in catalog_designs() if (one.voltage, one.family.frequency) == (230, 60)]
    rows = [one for one in rows if not several_ratings or len(one.ratings) > 1]

    def column(read):
        return np.array([float(read(one)) for one in rows])

    names = [f for f in CapacitorRun.__dataclass_fields__ if f not in ("saturation", "reversed")]
    values = {f: column(lambda one, f=f: getattr(one.circuit, f)) for f in names}
    iron = [column(lambda one, f=f: getattr(one.circuit.saturation, f)) for f in Saturation._fields]
    circuit = CapacitorRun(**values, saturation=Saturation(*iron))
    rpm = column(lambda one: one.speed_rpm)
    found = _motors(circuit, column(lambda one: one.ratings[-1]), rpm)
    if several_ratings:
        lowest = column(lambda one: one.ratings[0])
        on_fan = figures_of(circuit, fan_coefficient(lowest, rpm))
        found.figures |= {"lowest": lowest, "amps at the lowest": on_fan["amps"][:, 2]}
    return found


@dataclass
class Unlike:
    """The other motor model; arrays of shape (motors,). Impedances [ohm] at 60 Hz."""

    poles: np.ndarray
    R1: np.ndarray
    X1: np.ndarray
    R2: np.ndarray
    X2: np.ndarray
    Xm: np.ndarray
    a: np.ndarray
    angle: np.ndarray  # electrical, between the windings
    R_aux: np.ndarray
    X_aux: np.ndarray
    capacitance: np.ndarray
    depth: np.ndarray  # of the bars, over the depth of penetration at 60 Hz
    in_bars: np.ndarray  # share of R2 that is in the bars, the rest in the rings
    leakage_lost: np.ndarray  # share of the leakage that goes at very high current
    amps_scale: np.ndarray
    iron_share: np.ndarray
    iron_steep: np.ndarray
    emf_knee: np.ndarray
    core: np.ndarray  # W per V^2 of the air gap's voltage
    stray: np.ndarray  # N m per A^2
    harmonic: np.ndarray  # N m
    rubbing: np.ndarray  # N m
    windage: np.ndarray  # N m s^2

    def part(self, which) -> "Unlike":
        return Unlike(**{k: v[which] for k, v in vars(self).items()})

    @property
    def synchronous(self):
        return 4 * np.pi * FREQUENCY / self.poles

    def rotor(self, slip, leakage):
        """Rotor impedance over slip, in the field that slips by ``slip``."""
        x = np.maximum(self.depth * np.sqrt(np.abs(slip)), 1e-3)
        bottom = np.cosh(2 * x) - np.cos(2 * x)
        more = x * (np.sinh(2 * x) + np.sin(2 * x)) / bottom
        less = 1.5 / x * (np.sinh(2 * x) - np.sin(2 * x)) / bottom
        R2 = self.R2 * (1 - self.in_bars + self.in_bars * more)
        return R2 / slip + 1j * self.X2 * leakage * (0.6 + 0.4 * less)

    def at(self, voltage, slip):
        """Line current [A], watts in, shaft torque [N m], current in the capacitor [A]."""
        slip = np.maximum(slip, 1e-6)
        emf, main, done = 0.8 * voltage, self.amps_scale, False
        for _ in range(400):
            high = np.abs(main / self.amps_scale) ** 2
            leakage = 1 - self.leakage_lost * high / (high + 6.0)
            bend = np.sinh(self.iron_steep * emf / self.emf_knee) / np.sinh(self.iron_steep)
            Xm = 1j * self.Xm / (1 + self.iron_share * bend)
            rotor = (self.rotor(s, leakage) for s in (slip, 2 - slip))
            forward, backward = (0.5 / (1 / Xm + 1 / z) for z in rotor)
            turn = np.exp(1j * self.angle)
            xc = 1 / (2 * np.pi * FREQUENCY * self.capacitance)
            m11 = self.R1 + 1j * self.X1 * leakage + forward + backward
            m12 = self.a * (forward / turn + backward * turn)
            m21 = self.a * (forward * turn + backward / turn)
            m22 = self.R_aux + 1j * (self.X_aux * leakage - xc) + self.a**2 * (forward + backward)
            determinant = m11 * m22 - m12 * m21
            main_next = np.abs(voltage * (m22 - m12) / determinant)
            i_main, i_aux = voltage * (m22 - m12) / determinant, voltage * (m11 - m21) / determinant
            i_forward, i_backward = i_main + self.a * i_aux / turn, i_main + self.a * i_aux * turn
            e = np.sqrt(np.abs(i_forward * forward) ** 2 + np.abs(i_backward * backward) ** 2)
            done = (
                np.max(np.abs(e / emf - 1)) < 1e-7 and np.max(np.abs(main_next / main - 1)) < 1e-7
            )
            emf, main = emf * (e / emf) ** 0.4, main + 0.4 * (main_next - main)
            if done:
                break
        assert done, "the other motor model found no balance"
        gap = np.abs(i_forward) ** 2 * forward.real - np.abs(i_backward) ** 2 * backward.real
        speed = (1 - slip) * self.synchronous
        third = 1 - 3 * (1 - slip)
        parasitic = self.harmonic * 2 * third * 0.3 / (third**2 + 0.3**2)
        current = i_main + i_aux + self.core * e**2 / voltage
        torque = gap / self.synchronous - self.stray * np.abs(current) ** 2 + parasitic
        torque = torque - np.where(speed > 0, self.rubbing, 0.0) - self.windage * speed**2
        return current, voltage * current.real, torque, np.abs(i_aux)

    def settled(self, voltage, coefficient):
        """Slip on a fan, by halving between no load and 0.35."""
        low, high = np.zeros_like(coefficient), np.full_like(coefficient, 0.35)
        for _ in range(40):
            slip = (low + high) / 2
            load = coefficient * ((1 - slip) * self.synchronous) ** 2
            short = self.at(voltage, slip)[2] < load
            low, high = np.where(short, slip, low), np.where(short, high, slip)
        return slip

    def breakdown(self):
        return np.max([self.at(VOLTAGE, s)[2] for s in np.linspace(0.08, 0.6, 27)], axis=0)


def unlike_motors(number: int, seed: int) -> Motors:
    """``number`` sellable motors of the other model."""
    rng = np.random.default_rng(seed)
    size = 16 * number

    def between(low, high):
        return rng.uniform(low, high, size)

    poles = rng.choice([6, 8], size, p=[0.65, 0.35])
    slip = np.where(poles == 6, between(0.075, 0.125), between(0.06, 0.105))
    power = HORSEPOWER * rng.choice([1 / 8, 1 / 6, 1 / 5, 1 / 4, 1 / 3, 1 / 2, 3 / 4], size)
    base = VOLTAGE**2 * between(0.45, 0.64) / power
    a, R1, X1 = between(0.95, 1.6), between(0.08, 0.19) * base, between(0.09, 0.20) * base
    wanted = 1 / (2 * np.pi * FREQUENCY * between(2.2, 3.4) * base)
    synchronous = 4 * np.pi * FREQUENCY / poles
    torque = power / synchronous
    motors = Unlike(
        poles=poles,
        R1=R1,
        X1=X1,
        R2=between(1.6, 2.7) * slip * base,
        X2=between(0.6, 1.4) * X1,
        Xm=between(1.1, 2.0) * base,
        a=a,
        angle=np.radians(between(82.0, 98.0)),
        R_aux=between(0.9, 1.6) * a**2 * R1,
        X_aux=between(0.7, 1.2) * a**2 * X1,
        capacitance=CAPACITORS[np.abs(np.log(wanted[:, None] / CAPACITORS)).argmin(axis=1)],
        depth=between(0.6, 1.3),
        in_bars=between(0.5, 0.8),
        leakage_lost=between(0.1, 0.35),
        amps_scale=VOLTAGE / base,
        iron_share=between(0.1, 0.45),
        iron_steep=between(4.0, 9.0),
        emf_knee=between(0.75, 0.95) * VOLTAGE,
        core=between(0.04, 0.11) * power / (0.8 * VOLTAGE) ** 2,
        stray=between(0.005, 0.02) * torque / (VOLTAGE / base) ** 2,
        harmonic=between(0.02, 0.12) * torque,
        rubbing=between(0.004, 0.015) * torque,
        windage=between(0.004, 0.015) * torque / synchronous**2,
    )
    current, watts, at_rating, aux = motors.at(VOLTAGE, slip)
    out = at_rating * (1 - slip) * synchronous
    across = aux / (2 * np.pi * FREQUENCY * motors.capacitance)
    good = (
        _between(out / watts, 0.42, 0.69)
        & _between(watts / (VOLTAGE * np.abs(current)), 0.83, 0.995)
        & _between(motors.breakdown() / at_rating, 1.35, 2.6)
        & _between(across / VOLTAGE, 1.2, 1.95)
        & (motors.at(0.85 * VOLTAGE, np.ones(size))[2] > 0.05 * at_rating)
        & (motors.at(VOLTAGE, 1.02 * slip)[2] > at_rating)
    )
    keep = np.flatnonzero(good)[:number]
    assert len(keep) == number, f"the recipe gave {len(keep)} motors only"
    motors, power, slip = motors.part(keep), out[keep], slip[keep]
    speed_rpm = (1 - slip) * 120 * FREQUENCY / motors.poles
    coefficient = fan_coefficient(power, speed_rpm)
    figures = {"amps": [], "watts": [], "rpm": []}
    for volts in VOLTAGES:
        slip = motors.settled(volts, coefficient)
        current, into, _, _ = motors.at(volts, slip)
        figures["amps"].append(np.abs(current))
        figures["watts"].append(into)
        figures["rpm"].append((1 - slip) * 120 * FREQUENCY / motors.poles)
    figures = {name: np.stack(value, axis=-1) for name, value in figures.items()}
    figures["locked-rotor amps"] = np.abs(motors.at(VOLTAGE, np.ones(number))[0])
    figures["breakdown torque"] = motors.breakdown()
    return Motors(
        poles=motors.poles,
        power=power,
        current=figures["amps"][:, 2],
        speed_rpm=speed_rpm,
        capacitance=motors.capacitance,
        losses=watts[keep] - power,
        figures=figures,
    )


@dataclass
class WarmUp:
    """Motors warmed up on their rated fans at sites of their own, by a heat model of one line.

    Rises at the rating are 60 to 115 % of what the class allows, in the air speed of the rating;
    part of a rise is inside, the rest falls with a power of the air speed and with radiation.
    """

    facts: list  # diameter, length [m], ambient rating [degC], insulation class of each motor
    voltage: np.ndarray
    temp_air: np.ndarray
    air_speed: np.ndarray  # as people take it to be, within 25 %
    temp_winding: np.ndarray


def warm_up(motors: Motors, seed: int) -> WarmUp:
    """A site and a winding temperature for each of ``motors``."""
    rng = np.random.default_rng(seed)
    size = len(motors)

    def between(low, high):
        return rng.uniform(low, high, size)

    ratings = [("A", 40.0), ("B", 40.0), ("B", 60.0), ("F", 60.0), ("F", 70.0)]
    chosen = [ratings[k] for k in rng.integers(0, len(ratings), size)]
    ambient = np.array([a for _, a in chosen])
    allowed = np.array([float(insulation.rise_limit(c, temp_ambient=a)) for c, a in chosen])
    diameter, torque = between(0.13, 0.16), motors.power / motors.speed_rpm * 30 / np.pi
    length = (0.06 + 0.06 * torque**0.7) * (0.14 / diameter) ** 2 * between(0.75, 1.3)
    facts = [(d, x, a, c) for d, x, (c, a) in zip(diameter, length, chosen, strict=True)]
    at_rating, in_rating, real_speed = allowed * between(0.6, 1.15), between(3, 9), between(2, 8)
    inside, power, radiated = between(0.15, 0.35), between(0.4, 0.65), between(0.15, 0.35)
    film = (1 - radiated) * (real_speed / in_rating) ** power + radiated
    temp_air = between(30.0, 60.0)
    place = rng.integers(1, 4, size)
    speed = motors.figures["rpm"] * np.pi / 30
    fan = fan_coefficient(motors.power, motors.speed_rpm)[:, None]
    losses = (motors.figures["watts"] - fan * speed**3)[np.arange(size), place] / motors.losses
    reference, temp = ambient + at_rating, temp_air + at_rating
    for _ in range(30):  # copper and aluminum are some 80 % of the losses
        hot = losses * (1 + 0.8 * 0.0036 * (temp - reference))
        temp = temp_air + at_rating * hot * (inside + (1 - inside) / film)
    return WarmUp(facts, VOLTAGES[place], temp_air, real_speed / between(0.75, 1.25), temp)

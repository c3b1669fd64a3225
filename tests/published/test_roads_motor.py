"""Independent methods for a motor's figures: coupled windings, the motor in time, SciPy's root finder."""

import platform
import sys
from dataclasses import dataclass, replace
from functools import cached_property
from math import pi, sqrt

import numpy as np
import pytest
from scipy.integrate import quad, simpson, solve_ivp
from scipy.optimize import brentq

from airover.physics import circuit, compiled, operating_point, transient
from airover.physics.circuit import CapacitorRun, Saturation, single_winding
from tests.physics.test_circuit import MOTOR, SATURATED, coupled_windings
from tests.physics.test_operating_point import DIPPED, WEAK_BELOW
from tests.physics.test_transient import MEANS, THIRD_HP, steady

COUPLED = "four coupled windings without revolving fields, NumPy linalg.solve"
IN_TIME = "d-q windings solved over time by SciPy"
BRENTQ = "SciPy brentq for each torque"
INTEL_MAC = sys.platform == "darwin" and platform.machine() != "arm64"
LOADS = [(volts, share) for volts in (190.0, 230.0, 260.0) for share in (0.4, 0.7, 1.0)]


@dataclass(frozen=True)
class Windings:
    """What a motor's four coupled windings take, lose and turn; rms."""

    motor: CapacitorRun
    voltage: float
    slip: float
    frequency: float = 60.0

    @cached_property
    def currents(self):
        """Main, auxiliary, and the cage in the axis of each."""
        return coupled_windings(self.motor, self.voltage, self.slip, self.frequency)

    @property
    def speed(self):
        return (1 - self.slip) * 4 * pi * self.frequency / self.motor.poles

    @property
    def losses(self):
        main, aux, *cage = np.abs(self.currents) ** 2
        return {
            "loss_main": self.motor.R1 * main,
            "loss_aux": self.motor.R_aux * aux,
            "loss_rotor": self.motor.R2 * sum(cage),
            "loss_core": self.motor.core_conductance * self.voltage**2,
            "loss_friction": self.motor.friction * self.speed**2,
        }

    @property
    def common(self):
        """What magnetises [A, on the main winding's turns], and the stator's part, in each axis."""
        main, aux, *cage = self.currents
        turned = aux * self.motor.turns_ratio * (-1 if self.motor.reversed else 1)
        return np.array([main, turned]) + cage, (main, turned)

    @property
    def emf(self):
        reactance = self.motor.Xm * self.frequency / self.motor.frequency
        return reactance * sqrt(np.sum(np.abs(self.common[0]) ** 2) / 2)

    @property
    def figures(self):
        """As the closed form names them; watts by what is left, torque by flux across current."""
        taken = self.voltage * sum(self.currents[:2]).real + self.losses["loss_core"]
        flux, (main, turned) = self.common
        flux = flux * self.motor.Xm / (2 * pi * self.motor.frequency)
        across = (flux[1] * np.conj(main) - flux[0] * np.conj(turned)).real
        return self.losses | {
            "power_in": taken,
            "power_out": taken - sum(self.losses.values()),
            "torque": self.motor.poles / 2 * across - self.motor.friction * self.speed,
            "speed_rpm": self.speed * 30 / pi,
            "emf": self.emf,
            "loss": sum(self.losses.values()),
        }


BARE = (4, 60.0, 20, 15.5, 25, 12, 140, 1.3, 42, 26, 7.5e-6)  # no core, no friction
MIRRORED = replace(MOTOR, reversed=True)


@pytest.mark.parametrize("slip", [0.0, 0.1, 1.0, 1.8])
@pytest.mark.parametrize("frequency", [50.0, 60.0])
@pytest.mark.parametrize("motor", [MOTOR, MIRRORED], ids=["usual", "mirrored"])
def test_coupled_windings(road, motor, frequency, slip):
    at, windings = motor.solve(230.0, frequency, slip), Windings(motor, 230.0, slip, frequency)
    main, aux, *_ = windings.currents
    line = main + aux + motor.core_conductance * 230.0
    capacitor_volts = aux / (2j * pi * frequency * motor.capacitance)
    ours = [at.current_main, at.current_aux, at.current, at.voltage_capacitor]
    theirs = [main, aux, line, capacitor_volts]
    road("circuit", "currents, capacitor's voltage", ours, theirs, by=COUPLED, within=1e-11)
    names = sorted(windings.figures)
    ours, theirs = (
        np.array([float(one[name]) for name in names])
        for one in ({name: getattr(at, name) for name in names}, windings.figures)
    )
    over = np.maximum(np.abs(theirs), 1.0)  # some are zero, and differences of larger ones
    what = "torque, watts, losses, air-gap voltage; over 1 of their unit at least"
    road("circuit", what, ours, theirs, by=COUPLED, within=1e-10, over=over)


@pytest.mark.parametrize("slip", [-0.5, 0.0, 0.02, 0.1, 0.5, 1.0, 1.8])
def test_main_winding_alone(road, slip):
    poles, hertz, *ohms = BARE[:7]
    alone = single_winding(230, hertz, poles, slip, *ohms)
    windings = Windings(replace(CapacitorRun(*BARE), R_aux=1e9), 230.0, slip)  # as good as cut
    figures = windings.figures
    amps = abs(windings.currents[0])
    ours = [alone.current, alone.power_in, alone.power_factor, alone.speed_rpm]
    power_factor = figures["power_in"] / 230 / amps
    theirs = [amps, figures["power_in"], power_factor, figures["speed_rpm"]]
    what = "the main winding alone: current, power in, power factor, speed"
    over = np.maximum(np.abs(theirs), 1e-3)
    road("circuit", what, ours, theirs, by=COUPLED, within=1e-6, over=over)
    ours, theirs = [alone.power_out, alone.torque], [figures["power_out"], figures["torque"]]
    what = "the main winding alone: power out, torque; over volts times amps"
    over = np.array([1.0, 1 / (60 * pi)]) * 230 * amps
    road("circuit", what, ours, theirs, by=COUPLED, within=1e-6, over=over)


def saturated_cases():
    """Motors and lines far beyond what is sold, near resonance with their capacitors too."""
    random = np.random.default_rng(1)
    for _ in range(30):
        iron = Saturation(
            random.uniform(0.01, 0.95), random.uniform(1, 20), random.uniform(60, 250)
        )
        motor = replace(
            MOTOR,
            saturation=iron,
            R1=10 ** random.uniform(0, 1.5),
            R2=10 ** random.uniform(0, 2),
            Xm=10 ** random.uniform(1.5, 2.6),
            capacitance=10 ** random.uniform(-6.5, -4.5),
        )
        volts, slip = 10 ** random.uniform(0, 3), random.choice([0.0, 0.02, 0.1, 0.3, 1.0, 1.8])
        yield motor, volts, random.choice([50.0, 60.0]), slip


def test_saturated_iron_by_brentq(road):
    """The air-gap voltage that the motor of the reactance it leaves has itself."""

    def mismatch(level, motor, volts, hertz, slip):
        factor = motor.saturation.factor(np.exp(level) * motor.frequency / hertz)
        straight = replace(motor, Xm=motor.Xm / factor, saturation=None)
        return np.log(Windings(straight, volts, slip, hertz).emf) - level

    ours, theirs = [], []
    for case in saturated_cases():
        motor, volts, hertz, slip = case
        iron = motor.saturation
        shorted = np.log(iron.emf_rated * hertz / 60) + np.log(1e6 / iron.share) / iron.exponent
        high = min(shorted, np.log(volts) + 3)  # no balance above either
        ours.append(float(motor.solve(volts, hertz, slip).emf))
        theirs.append(np.exp(brentq(mismatch, np.log(volts) - 5, high, args=case, xtol=1e-13)))
    by = "four coupled windings, air-gap voltage by SciPy brentq"
    road("circuit", "saturated air-gap voltage", ours, theirs, by=by, within=1e-9)


TAPPED = replace(MOTOR, tap=0.5, turns_ratio=0.65, R_aux=9.0, X_aux=6.5, capacitance=30e-6)


@pytest.mark.parametrize("motor", [MOTOR, TAPPED])
@pytest.mark.parametrize("slip", [0.04, 0.3, 1.0])
def test_motor_in_time(road, slip, motor):
    """No formula in common; what is left is the integration's tolerance."""
    in_time, closed = steady(motor, 230.0, 60.0, slip, 1.0)
    for names, what in (
        (set(closed) - set(MEANS), "steady currents, capacitor voltage"),
        (MEANS, "steady torque and losses"),
    ):
        one, other = (
            np.array([found[name] for name in sorted(names)]) for found in (closed, in_time)
        )
        road("circuit", what, one, other, by=IN_TIME, within=2e-6)
        by = "revolving fields of `circuit`, in closed form"
        road("transient", what, other, one, by=by, within=2e-6)


def test_magnetizing_current_by_its_slope(road):
    """d(I Xm)/dE of the stated curve, integrated: the incremental inductance's way."""
    iron = SATURATED.saturation

    def slope(emf):
        return 1 - iron.share + iron.share * (iron.exponent + 1) * (emf / 185.0) ** iron.exponent

    emf = np.array([60.0, 150.0, 185.0, 230.0])
    theirs = [quad(slope, 0, end)[0] for end in emf]
    by = "differential equation of the same curve, SciPy quad (no independent formula)"
    road("circuit", "magnetizing current", iron.factor(emf) * emf, theirs, by=by, within=1e-12)


def test_saturated_motor_in_time(road):
    """Per cents are left: the flux swings twice a cycle, which no phasor has."""
    in_time, closed = steady(SATURATED, 260.0, 60.0, 0.1, 1.0)
    names = set(closed) - {"loss_rotor"}
    one, other = (np.array([found[name] for name in sorted(names)]) for found in (closed, in_time))
    what = "a saturated motor's currents, torque, losses at 260 V"
    road("circuit", what, one, other, by=IN_TIME + ", saturation at each step", within=0.016)


def slips(motor):
    """Slip of every load by brentq, between breakdown and synchronous speed."""

    def surplus(slip, volts, share):
        torque = float(motor.solve(volts, 60.0, slip).torque)
        return torque - share * THIRD_HP * ((1 - slip) * 40 * pi) ** 2

    return [brentq(surplus, 0.0, 0.35, args=load, xtol=1e-13) for load in LOADS]


@pytest.mark.parametrize("name", ["operating_point", "compiled"])
def test_settled_on_a_fan(road, name):
    if name == "compiled" and INTEL_MAC:
        pytest.skip("there is no numba for Macs with an Intel processor")
    settle = {"operating_point": operating_point, "compiled": compiled}[name].settle
    volts, share = np.array(LOADS).T
    for motor, iron in ((MOTOR, "unsaturated"), (SATURATED, "saturated")):
        ours, theirs = settle(motor, volts, 60.0, share * THIRD_HP).slip, slips(motor)
        road(name, f"slip on a fan, {iron} iron", ours, theirs, by=BRENTQ, within=1e-7)


def balances(motor, volts, coefficient):
    """Slips at which windings and fan pull alike, from standstill upwards, and stability of the operating points."""

    def surplus(slip):
        windings = Windings(motor, volts, slip)
        return windings.figures["torque"] - coefficient * windings.speed**2

    scan = np.linspace(1.0, 0.0, 160)
    stronger = np.array([surplus(slip) for slip in scan]) > 0
    places = np.flatnonzero(stronger[1:] != stronger[:-1])
    found = [brentq(surplus, scan[i + 1], scan[i], xtol=1e-13) for i in places]
    return found, stronger[places]


@pytest.mark.parametrize(
    ("motor", "share"), [(MOTOR, 1.0), (WEAK_BELOW, 0.4), (DIPPED, 0.02), (MIRRORED, 0.1)]
)
def test_every_balance(road, motor, share):
    """A motor that is weak half-way up has three balances and settles at the first stable one."""
    slips, stable = balances(motor, 230.0, share * THIRD_HP)
    ours = operating_point.crossings(motor, 230.0, 60.0, share * THIRD_HP)
    by = "four coupled windings at 160 slips, SciPy brentq between two of them"
    found = [[one.slip, one.stable] for one in ours]
    road("operating_point", "slips of all operating points, stable or unstable", found,
         np.column_stack([slips, stable]), by=by, within=1e-9, over=1.0)  # fmt: skip
    settled = operating_point.settle(motor, 230.0, 60.0, share * THIRD_HP)
    if motor is MIRRORED:
        assert not settled.starts
    else:
        first = np.array(slips)[stable][0]
        road("operating_point", "slip of the first stable operating point", settled.slip, first, by=by,
             within=1e-8)  # fmt: skip


def test_the_least_voltage_that_starts_it(road):
    """Straight iron: torque at standstill goes with volts squared; bearings hold 2 % of the fan's."""
    held_back = 0.02 * THIRD_HP * (40 * pi) ** 2
    least = 230.0 * sqrt(held_back / Windings(MOTOR, 230.0, 1.0).figures["torque"])
    volts = least * np.array([0.9, 0.9999, 1.0001, 1.1])
    starts = operating_point.settle(MOTOR, volts, 60.0, THIRD_HP).starts
    by = "four coupled windings' torque at standstill, by hand"
    what = "voltages at which it starts"
    road("operating_point", what, starts, [0, 0, 1, 1], by=by, within=0, over=1.0)


@pytest.mark.parametrize("motor", [MOTOR, SATURATED], ids=["straight", "saturated"])
@pytest.mark.parametrize("off", [-0.01, 0.01])
def test_newtons_steps_on_a_fan(road, motor, off):
    (volts, share), theirs = np.array(LOADS).T, np.array(slips(motor))
    slip, emf = theirs + off, motor.solve(volts, 60.0, theirs).emf
    for _ in range(3):
        slip, _ = operating_point.step(motor, volts, 60.0, share * THIRD_HP, slip, emf, True)
    what = "three steps from a slip that is 0.01 off"
    road("operating_point", what, slip, theirs, by=BRENTQ, within=1e-6)


@pytest.mark.skipif(INTEL_MAC, reason="there is no numba for Macs with an Intel processor")
def test_compiled_beside_the_one_in_numpy(road):
    random = np.random.default_rng(4)
    motor = replace(
        SATURATED, R2=random.uniform(10, 60, 300), capacitance=random.uniform(3e-6, 1e-5, 300)
    )
    load = THIRD_HP * random.uniform(0.3, 2.0, 300)
    ours, theirs = (
        module.settle(motor, 230.0, 60.0, load) for module in (compiled, operating_point)
    )
    assert np.array_equal(ours.runs, theirs.runs) and 0.1 < np.mean(theirs.runs) < 0.99
    by = "`operating_point`: both windings solved again at each slip, SciPy's find_root"
    for what in ("current", "torque", "speed_rpm", "loss_rotor"):
        one, other = (np.abs(getattr(found.solution, what)) for found in (ours, theirs))
        road("compiled", "current, torque, speed, rotor loss", one, other, by=by, within=1e-6)


def test_settled_in_time(road):
    """A heavy rotor hardly follows the pulsing torque, so that its mean decides alone."""
    at = float(operating_point.settle(MOTOR, 230.0, 60.0, THIRD_HP).solution.speed_rpm)
    end = transient.run_up(MOTOR, 230.0, 60.0, THIRD_HP, 0.04, speed_rpm=at - 5)
    by = IN_TIME + " until the speed is constant"
    road("operating_point", "speed on a fan", at, end.speed_rpm, by=by, within=2e-5)


def test_capacitor_in_time(road):
    """7.5 uF on a voltage of 370 V: the current by its charge, rms by quadrature."""
    farads, w = 7.5e-6, 2 * pi * 60
    time = np.linspace(0, 1 / 60, 4001)
    charge = farads * 370 * sqrt(2) * np.sin(w * time)
    current = np.gradient(charge, time, edge_order=2)
    rms = sqrt(simpson(current**2, x=time) * 60)
    ours = circuit.capacitance(rms, 370.0, 60.0)
    by = "derivative of a sinusoidal charge, rms by Simpson's rule"
    road("circuit", "capacitance", ours, farads, by=by, within=2e-6)


@pytest.mark.parametrize(("volts", "temp"), [(407.0, 70.0), (350.0, 85.0), (390.0, 40.0)])
def test_capacitor_ages_along_a_way(road, volts, temp):
    """From the marked point to the asked one along a straight way, d(ln L) step by step."""

    def slope(at, _):
        v = 370 + at * (volts - 370)
        return [-8 * (volts - 370) / v - np.log(2) / 10 * (temp - 70)]

    found = solve_ivp(slope, (0, 1), [np.log(10000.0)], rtol=1e-10, atol=1e-10).y[0, -1]
    by = "differential equation of the same two laws, SciPy solve_ivp (no independent formula)"
    ours = circuit.life(volts, temp, 370.0)
    road("circuit", "life", ours, np.exp(found), by=by, within=1e-8)

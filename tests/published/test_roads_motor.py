"""Second roads to a motor's figures: coupled windings, the motor in time, SciPy's root finder."""

import platform
import sys
from dataclasses import replace
from math import pi, sqrt

import numpy as np
import pytest
from scipy.integrate import quad, simpson, solve_ivp
from scipy.optimize import brentq

from airover.physics import capacitor, compiled, operating_point, transient
from airover.physics.circuit import single_winding

from ..test_circuit import MOTOR, SATURATED, coupled_windings
from ..test_transient import LIGHT, MEANS, THIRD_HP, held, steady

COUPLED = "four coupled windings without revolving fields, NumPy linalg.solve"
IN_TIME = "d-q windings followed in time by SciPy"
BRENTQ = "SciPy brentq on one torque after the other"
INTEL_MAC = sys.platform == "darwin" and platform.machine() != "arm64"
LOADS = [(volts, share) for volts in (190.0, 230.0, 260.0) for share in (0.4, 0.7, 1.0)]


@pytest.mark.parametrize("slip", [0.02, 0.1, 0.5, 1.0, 1.8])
def test_coupled_windings(road, slip):
    at, (main, aux, *_) = MOTOR.solve(230.0, 60.0, slip), coupled_windings(MOTOR, 230.0, slip)
    ours, theirs = [at.current_main, at.current_aux], [main, aux]
    road("circuit", "currents of both windings", ours, theirs, by=COUPLED, within=1e-11)
    alone = single_winding(
        230, 60, 6, slip, MOTOR.R1, MOTOR.X1, MOTOR.R2, MOTOR.X2, MOTOR.Xm
    ).current  # fmt: skip
    main = abs(coupled_windings(replace(MOTOR, R_aux=1e9), 230.0, slip)[0])
    road("circuit", "current of the main winding alone", alone, main, by=COUPLED, within=1e-6)


@pytest.mark.parametrize("slip", [0.04, 0.3, 1.0])
def test_motor_in_time(road, slip):
    """No formula in common; what is left is the integration's tolerance."""
    in_time, closed = steady(MOTOR, 230.0, 60.0, slip, 1.0)
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


def test_energy_of_a_run_up(road):
    run = transient.simulate(MOTOR, 230.0, 60.0, THIRD_HP, LIGHT, 0.5, -60.0, samples=128)
    speed = run.speed_rpm * pi / 30
    lost = run.loss_main + run.loss_aux + run.loss_rotor
    lost = lost + MOTOR.core_conductance * run.voltage**2 + MOTOR.friction * speed**2
    taken = simpson(run.voltage * run.current, x=run.time)
    given = simpson(lost + THIRD_HP * np.abs(speed) ** 3, x=run.time) + held(run, speed)
    given += LIGHT * (speed[-1] ** 2 - speed[0] ** 2) / 2 + np.ptp(run.energy_stored[[0, -1]])
    by = "energy taken from the line is lost, stored or given to the fan; Simpson's rule"
    road("transient", "energy of a run-up", given, taken, by=by, within=1e-6)


def test_inertia_of_a_disc_and_of_rods(road):
    """The mass ring by ring: spread over a disc, spread evenly along the blades."""
    tip, by = 0.28, "SciPy quad of r^2 over the mass"
    for gyration, power in ((sqrt(0.5), 1), (3**-0.5, 0)):  # mass at r goes with r^power
        moment, mass = (quad(lambda r, n: r**n, 0, tip, args=power + n)[0] for n in (2, 0))
        ours = transient.disc_inertia(1.2, 2 * tip, gyration)
        road("transient", "moment of inertia", ours, 1.2 * moment / mass, by=by, within=1e-12)


def test_magnetising_current_by_its_slope(road):
    """d(I Xm)/dE of the stated curve, integrated: the incremental inductance's way."""
    iron = SATURATED.saturation

    def slope(emf):
        return 1 - iron.share + iron.share * (iron.exponent + 1) * (emf / 185.0) ** iron.exponent

    emf = np.array([60.0, 150.0, 185.0, 230.0])
    theirs = [quad(slope, 0, end)[0] for end in emf]
    by = "differential equation of the same curve, SciPy quad (no other formula)"
    road("saturation", "magnetising current", iron.factor(emf) * emf, theirs, by=by, within=1e-12)


def test_saturated_motor_in_time(road):
    """Per cents are left: the flux swings twice a cycle, which no phasor has."""
    in_time, closed = steady(SATURATED, 260.0, 60.0, 0.1, 1.0)
    names = set(closed) - {"loss_rotor"}
    one, other = (np.array([found[name] for name in sorted(names)]) for found in (closed, in_time))
    what = "a saturated motor's currents, torque, losses at 260 V"
    road("saturation", what, one, other, by=IN_TIME + ", iron at each moment", within=0.016)


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
    for motor, iron in ((MOTOR, "straight"), (SATURATED, "saturated")):
        ours, theirs = settle(motor, volts, 60.0, share * THIRD_HP).slip, slips(motor)
        road(name, f"slip on a fan, {iron} iron", ours, theirs, by=BRENTQ, within=1e-7)


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
    by = "`operating_point`: both windings solved anew at each slip, SciPy's find_root"
    for what in ("current", "torque", "speed_rpm", "loss_rotor"):
        one, other = (np.abs(getattr(found.solution, what)) for found in (ours, theirs))
        road("compiled", "current, torque, speed, rotor loss", one, other, by=by, within=1e-6)


def test_settled_in_time(road):
    """A heavy rotor hardly follows the pulsing torque, so that its mean decides alone."""
    at = float(operating_point.settle(MOTOR, 230.0, 60.0, THIRD_HP).solution.speed_rpm)
    end = transient.run_up(MOTOR, 230.0, 60.0, THIRD_HP, 0.04, speed_rpm=at - 5)
    by = IN_TIME + " until the speed stays"
    road("operating_point", "speed on a fan", at, end.speed_rpm, by=by, within=2e-5)


def test_capacitor_in_time(road):
    """7.5 uF on a voltage of 370 V: the current by its charge, rms by quadrature."""
    farads, w = 7.5e-6, 2 * pi * 60
    time = np.linspace(0, 1 / 60, 4001)
    charge = farads * 370 * sqrt(2) * np.sin(w * time)
    current = np.gradient(charge, time, edge_order=2)
    rms = sqrt(simpson(current**2, x=time) * 60)
    ours = capacitor.capacitance(rms, 370.0, 60.0)
    by = "charge of a sine differentiated in time, rms by Simpson's rule"
    road("capacitor", "capacitance", ours, farads, by=by, within=2e-6)


@pytest.mark.parametrize(("volts", "temp"), [(407.0, 70.0), (350.0, 85.0), (390.0, 40.0)])
def test_capacitor_ages_along_a_way(road, volts, temp):
    """From the marked point to the asked one along a straight way, d(ln L) step by step."""

    def slope(at, _):
        v = 370 + at * (volts - 370)
        return [-8 * (volts - 370) / v - np.log(2) / 10 * (temp - 70)]

    found = solve_ivp(slope, (0, 1), [np.log(10000.0)], rtol=1e-10, atol=1e-10).y[0, -1]
    by = "differential equation of the same two laws, SciPy solve_ivp (no other formula)"
    ours = capacitor.life(volts, temp, 370.0)
    road("capacitor", "life", ours, np.exp(found), by=by, within=1e-8)

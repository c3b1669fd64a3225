"""Independent methods for a motor in time: its textbook form by another solver, energy, bodies' inertia."""

from math import pi, sqrt

import numpy as np
import pytest
from scipy.integrate import quad, simpson, solve_ivp
from scipy.optimize import brentq

from airover.physics import transient
from tests.physics.test_transient import LIGHT, MOTOR, SATURATED, THIRD_HP, held

from .test_roads_motor import MIRRORED


def flux_linkages(motor, volts, hertz, coefficient, inertia, speed_rpm, wind_rpm, phase, time):
    """The motor in the textbook's form: each winding's flux linkage changes by u - R i.

    State: flux linkages of main, auxiliary (on the main's turns) and of the cage in both axes, the
    capacitor's voltage, the speed, and the work done by the line less what was lost and given off,
    which is what is stored. Integrated by another rule than the code's.
    """
    w, a, iron = 2 * pi * motor.frequency, motor.turns_ratio, motor.saturation
    a = -a if motor.reversed else a
    leakage = np.array([motor.X1, motor.X_aux / a**2, motor.X2, motor.X2]) / w
    both = 1 / leakage[:2] + 1 / leakage[2:]
    synchronous = 4 * pi * hertz / motor.poles

    def common(linkage):
        """The common flux [Wb] of each axis, which the iron's curve leaves."""
        drive = linkage[:2] / leakage[:2] + linkage[2:4] / leakage[2:]
        if iron is None or not np.any(drive):
            return drive / (both + w / motor.Xm)

        def excess(size):  # of flux, as an air-gap voltage: rms of both fields
            return np.hypot(*drive / (both + w / motor.Xm * iron.factor(w * size / sqrt(2)))) - size

        size = brentq(excess, 0, np.hypot(*drive / both), xtol=1e-13)
        return drive / (both + w / motor.Xm * iron.factor(w * size / sqrt(2)))

    def shown(at, state):
        flux = common(state)
        i_d, i_q, r_d, r_q = (state[:4] - np.tile(flux, 2)) / leakage
        speed, u = state[5], state[5] / sqrt(3)
        stuck = 0.02 * coefficient * synchronous**2 * 16 / 3**1.5 * u / (1 + u**2) ** 2
        torque = motor.poles / 2 * (flux[1] * i_d - flux[0] * i_q) - motor.friction * speed - stuck
        line = sqrt(2) * volts * np.cos(2 * pi * hertz * at + phase)
        heat = motor.R1 * i_d**2, motor.R_aux / a**2 * i_q**2, motor.R2 * (r_d**2 + r_q**2)
        return line, (i_d, i_q, r_d, r_q), torque, speed, heat

    def change(at, state):
        line, (i_d, i_q, r_d, r_q), torque, speed, heat = shown(at, state)
        turning = motor.poles / 2 * speed
        wind = wind_rpm * pi / 30
        push = coefficient * (wind * abs(wind) - speed * abs(speed))
        rotates = turning * (state[2] * r_q - state[3] * r_d)  # W to the shaft
        return [
            line - motor.R1 * i_d,
            (line - state[4]) / a - motor.R_aux / a**2 * i_q,
            turning * state[3] - motor.R2 * r_d,
            -turning * state[2] - motor.R2 * r_q,
            i_q / a / motor.capacitance,
            (torque + push) / inertia,
            line * (i_d + i_q / a) - sum(heat) - rotates,
        ]

    start = [0, 0, 0, 0, 0, speed_rpm * pi / 30, 0]
    found = solve_ivp(change, time[[0, -1]], start, "DOP853", time, rtol=1e-9, atol=1e-10)
    rows = [
        {
            "voltage": line,
            "current": i_d + i_q / a + motor.core_conductance * line,
            "current_main": i_d,
            "current_aux": i_q / a,
            "voltage_capacitor": state[4],
            "torque": torque,
            "speed_rpm": speed * 30 / pi,
            "energy_stored": state[6],
            **dict(zip(("loss_main", "loss_aux", "loss_rotor"), heat, strict=True)),
        }
        for at, state in zip(time, found.y.T, strict=True)
        for line, (i_d, i_q, _, _), torque, speed, heat in [shown(at, state)]
    ]
    return {name: np.array([row[name] for row in rows]) for name in rows[0]}


@pytest.mark.parametrize(
    ("motor", "hertz", "rpm", "wind"),
    [(MOTOR, 60.0, -30.0, -400.0), (SATURATED, 60.0, 900.0, 0.0), (MIRRORED, 50.0, 5.0, 300.0)],
    ids=["against the wind", "saturated", "mirrored at 50 Hz"],
)
def test_switching_on(road, motor, hertz, rpm, wind):
    """Every wave of the first cycle and a half, when nothing is periodic yet."""
    case = (motor, 230.0, hertz, THIRD_HP, 0.002, rpm)
    run = transient.integrate(*case[:5], 0.025, rpm, wind, 0.7, 40)
    theirs = flux_linkages(*case, wind, 0.7, run.time)
    assert len(run.time) == round(0.025 * hertz * 40) + 1
    by = "flux linkages of four windings, SciPy's DOP853; energy from the line"
    for name, wave in theirs.items():
        what = "waveforms after switching on, over the maximum of each"
        over = np.max(np.abs(wave))
        road("transient", what, getattr(run, name), wave, by=by, within=1e-6, over=over)


@pytest.mark.parametrize(("rpm", "motor"), [(0.0, MOTOR), (-200.0, MIRRORED)])
def test_run_up_read_from_its_waves(road, rpm, motor):
    """The same start as one run: when its speed is within 5 % for good, and what came before."""
    line = motor, 230.0, 60.0, THIRD_HP, 0.001
    end, run = transient.run_up(*line, speed_rpm=rpm), transient.integrate(*line, 0.5, rpm)
    final = np.mean(run.speed_rpm[-64:])
    until = np.flatnonzero(np.abs(run.speed_rpm - final) > 0.05 * abs(final))[-1] + 2
    copper, cage = (
        simpson(heat[:until], x=run.time[:until])
        for heat in (run.loss_main + run.loss_aux, run.loss_rotor)
    )
    crests = [np.max(np.abs(wave)) for wave in (run.voltage_capacitor, run.current)]
    theirs = [final, run.time[until - 1], *crests, copper, cage]
    by = "all waveforms in one run, evaluated from the end"
    ours = [end.speed_rpm, end.time, end.voltage_capacitor_peak, end.current_peak]
    ours += [end.energy_windings, end.energy_rotor]
    what = "result of a start: speed, time, peaks, heat"
    road("transient", what, ours, theirs, by=by, within=1e-5)
    assert end.starts and end.direction == np.sign(final)


def test_energy_of_a_run_up(road):
    run = transient.integrate(MOTOR, 230.0, 60.0, THIRD_HP, LIGHT, 0.5, -60.0, samples=128)
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

"""Independent methods for figures of bearings: brute force, SciPy's roots, integrals and laws of life."""

from math import pi

import numpy as np
import pytest
from scipy import stats
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

from airover.physics import ball_bearing, bearing_loads, oil, sleeve_running, unbalance
from airover.physics import sleeve_running as at_work
from airover.physics.sleeve_bearing import film, film_read, film_under_load, pressure_field

SLEEVE = at_work.Sleeve(0.0127, 0.01905, 12.7e-6, 0.2e-6, 0.4e-6, 32e-6, 5.4e-6)
SOLVED = "Reynolds' equation solved again (`sleeve_bearing`), SciPy brentq"


@pytest.mark.parametrize("exponent", [10 / 9, 1.5])
def test_bearings_that_all_have_to_survive(road, exponent):
    """The time by which one in ten of the pairs has failed, of both bearings' Weibull laws."""
    lives = np.array([40e3, 25e3, 90e3])

    def survive(time):
        chance = stats.weibull_min.sf(
            time, exponent, scale=lives / np.log(1 / 0.9) ** (1 / exponent)
        )
        return np.prod(chance) - 0.9

    ours = ball_bearing.system_life(lives, exponent)
    by = "survival probabilities by SciPy weibull_min, brentq"
    road("ball_bearing", "life of several", ours, brentq(survive, 1, 90e3), by=by, within=1e-8)


@pytest.mark.parametrize("reliability", [0.92, 0.97, 0.995])
def test_grease_by_a_weibull_law(road, reliability):
    """The law of SciPy whose tenth is 0.44 of its half, its slope found by brentq."""
    slope = brentq(lambda b: np.divide(*stats.weibull_min.ppf([0.1, 0.5], b)) - 0.44, 0.5, 10)
    theirs = stats.weibull_min.ppf(1 - reliability, slope) / stats.weibull_min.ppf(0.1, slope)
    ours = ball_bearing.grease_reliability_factor(reliability)
    by = "SciPy weibull_min, slope by brentq"
    road("ball_bearing", "grease at a reliability", ours, theirs, by=by, within=1e-8)


def test_forces_all_round(road):
    """Both turning forces at each of 72 angles, the beam's equations solved for every pair."""
    overhang, span, of_blade, of_rotor = 0.08, 0.1, 6.0, 2.0
    ours = bearing_loads.loads(1.2, 2.0, of_blade, of_rotor, 5.0, overhang, span, "horizontal")
    turn = np.exp(2j * pi * np.arange(72) / 72)
    blade = 1.2 * 9.80665 + of_blade * turn[:, None]
    rotor = 2.0 * 9.80665 + of_rotor * turn[None, :]
    right = np.stack([blade + rotor, blade * (span + overhang) + rotor * span / 2], axis=-1)
    each = np.linalg.solve(np.array([[1.0, 1.0], [span, 0.0]]), right[..., None])[..., 0]
    theirs = np.abs(each).max(axis=(0, 1))
    by = "both unbalances turned through all angles, NumPy linalg.solve"
    found = ours.blade.radial, ours.far.radial
    road("bearing_loads", "largest force in a turn", found, theirs, by=by, within=1e-12)


def test_force_of_points_that_turn(road):
    """A rotor of 2 kg as points around a centre that is off the axis; a blade's ring less one."""
    turning = 1075 * pi / 30
    radius, angle = np.meshgrid(np.linspace(0.01, 0.28, 40), 2 * pi * np.arange(24) / 24)
    offset = unbalance.eccentricity(6.3, 1075.0)
    pulls = 2.0 / radius.size * turning**2 * (offset + radius * np.exp(1j * angle))
    by = "sum of the forces of point masses"
    ours = unbalance.force(2.0, 6.3, 1075.0)
    road("unbalance", "force at a grade", ours, abs(pulls.sum()), by=by, within=1e-9)
    ring = 0.005 * 0.28 * turning**2 * np.exp(2j * pi * np.arange(12) / 12)
    ours = unbalance.force_of_loss(0.005, 0.28, 1075.0)
    road("unbalance", "force after a loss of mass", ours, abs(ring[1:].sum()), by=by, within=1e-9)


def test_oil_along_its_slope(road):
    """Walther's line as d ln ln(nu + 0.7) = -m dT/T, m found so that it ends at 100 degC."""

    def at(m, temp):
        found = solve_ivp(
            lambda kelvin, z: -m * (z + 0.7) * np.log(z + 0.7) / kelvin,
            (313.15, temp + 273.15), [32.0], rtol=1e-11, atol=1e-12,
        )  # fmt: skip
        return found.y[0, -1]

    m = brentq(lambda m: at(m, 100.0) - 5.4, 1.0, 6.0, xtol=1e-13)
    by = "differential equation of Walther's line, SciPy solve_ivp and brentq (no independent formula)"
    temps = np.array([15.0, 25.0, 60.0, 90.0, 120.0])
    theirs = [at(m, temp) * 1e-6 for temp in temps]
    ours = oil.oil_viscosity(temps, 32e-6, 5.4e-6)
    road("oil", "viscosity", ours, theirs, by=by, within=1e-7)


def test_oil_by_volume_correction(road):
    temps = np.array([15.0, 30.0, 60.0, 90.0])
    swells = 0.6278 / 870.0 * (temps - 15)
    theirs = 870.0 * np.exp(-swells * (1 + 0.8 * swells))
    by = "volume correction of lubricating oils, ASTM D1250; from memory, not verified"
    # a straight line where that bends: 0.5 % at 90 degC
    road("oil", "density", oil.oil_density(temps), theirs, by=by, within=0.01)
    # 15 degC is the correction's own temperature
    road("oil", "density at 15 degC", oil.oil_density(temps[0]), 870.0, by=by, within=1e-12)


def test_oil_by_its_heat_capacity(road):
    temps = np.array([30.0, 60.0, 90.0])
    theirs = (1685 + 3.39 * temps) / np.sqrt(oil.DENSITY_15 / 999.0)
    by = "Cragoe, NBS Miscellaneous Publication 97 (1929); from memory, not verified"
    # one value for all temperatures; 1800 to 2100 J/kgK
    road("oil", "heat capacity", oil.HEAT_CAPACITY, theirs, by=by, within=0.1)


CASES = [(e, length) for e in (0.07, 0.33, 0.71, 0.94) for length in (0.23, 0.62, 1.41)]


@pytest.mark.parametrize("start", [0.0, at_work.STARVED])
def test_table_of_films(road, start):
    """Between the table's rows, and back from the load to the film."""
    eccentricity, length = np.array(CASES).T
    ours, theirs = film_read(eccentricity, length, start), film(eccentricity, length, start)
    by = "Reynolds' equation solved at the exact point (`sleeve_bearing`)"
    for name in ("sommerfeld", "attitude_deg", "flow", "pressure_ratio", "friction"):
        one, other = getattr(ours, name), getattr(theirs, name)
        road("sleeve_bearing", f"film: {name}", one, other, by=by, within=0.01)
    back = film_under_load(theirs.sommerfeld, length, start).eccentricity_ratio
    what = "remaining clearance under a load"
    road("sleeve_bearing", what, 1 - back, 1 - eccentricity, by=by, within=0.01)


def solved(temp, load, speed_rpm, start):
    """Heat of friction [W] and narrowest gap [m], the film solved under its load."""
    viscosity = oil.dynamic_viscosity(temp, SLEEVE.viscosity_40, SLEEVE.viscosity_100)
    pressure = load / (SLEEVE.diameter * SLEEVE.length)
    wanted = (SLEEVE.diameter / 2 / SLEEVE.clearance) ** 2 * viscosity * speed_rpm / 60 / pressure

    def excess(e):
        return np.log(film(e, 1.5, start).sommerfeld / wanted)

    found = film(brentq(excess, 0.011, 0.979, xtol=1e-9), 1.5, start)
    torque = found.friction * SLEEVE.clearance * load
    return torque * speed_rpm * pi / 30, SLEEVE.clearance * (1 - found.eccentricity_ratio)


@pytest.mark.parametrize(("oil_fed", "start"), [("flooded", 0.0), ("starved", 0.7 * pi)])
def test_oil_as_warm_as_its_friction_makes_it(road, oil_fed, start):
    """With oil enough, and with the last 30 % of the narrowing half filled."""
    load, speed, housing, conductance = 40.0, 1075.0, 55.0, 0.3
    ours = getattr(at_work.bounds(SLEEVE, load, speed, housing, conductance), oil_fed)
    temp = brentq(
        lambda t: conductance * (t - housing) - solved(t, load, speed, start)[0],
        55.0,
        90.0,
        xtol=1e-5,
    )
    loss, gap = solved(temp, load, speed, start)
    assert ours.lambda_ratio > at_work.FULL_FILM
    for what, mine, other in (
        ("oil temperature rise", ours.temp_oil - housing, temp - housing),
        ("friction", ours.loss, loss),
        ("narrowest gap", ours.film_thickness, gap),
    ):
        road("sleeve_running", what, mine, other, by=SOLVED, within=0.01)
    field = pressure_field(1 - gap / SLEEVE.clearance, 1.5, start)
    highest = load / (SLEEVE.diameter * SLEEVE.length) * field.pressure.max()
    what = "highest pressure"
    road("sleeve_running", what, ours.pressure_highest, highest, by=SOLVED, within=0.01)


@pytest.mark.parametrize("start", [0.0, 0.7 * pi])
def test_speed_that_lifts_the_shaft(road, start):
    """The speed at which the solved film is three roughnesses thick, sqrt(0.2^2 + 0.4^2) um."""
    thick = 3 * np.sqrt(0.2**2 + 0.4**2) * 1e-6
    theirs = brentq(lambda rpm: solved(40.0, 30.0, rpm, start)[1] / thick - 1, 9, 500, xtol=1e-3)
    late = {"start": start} if start else {}
    ours = at_work.speed_at_lambda(SLEEVE, 30.0, 3.0, 40.0, **late)
    road("sleeve_running", "speed at lambda 3", ours, theirs, by=SOLVED, within=0.01)


def test_friction_without_a_film_and_half_way(road):
    """Amontons's law below lambda 1; half of the film's and half of his at lambda 2."""
    crushed = at_work.running(SLEEVE, 9000.0, 60.0, 40.0, 1000.0, friction_boundary=0.08)
    dry = 0.08 * 9000.0 * 0.00635
    by = "Amontons's law"
    road("sleeve_running", "friction without a film", crushed.torque, dry, by=by, within=1e-12)
    speed = at_work.speed_at_lambda(SLEEVE, 30.0, 2.0, 40.0)
    mixed = at_work.running(SLEEVE, 30.0, speed, 40.0, 1000.0)
    torque = solved(40.0, 30.0, speed, 0.0)[0] / (speed * pi / 30)
    half = (torque + 0.1 * 30.0 * 0.00635) / 2
    by = "film solved again and Amontons's law, half of each: engineering judgment, no source"
    road("sleeve_running", "friction at lambda 2", mixed.torque, half, by=by, within=0.01)


def test_regimes_of_any_handbook(road):
    ratios = np.arange(0, 5, 0.25)
    words = at_work.regime(ratios)
    begin = [ratios[words == word].min() for word in ("boundary", "mixed", "full film")]
    by = "limits in any handbook, from memory"
    over = 1.0
    road(
        "sleeve_running",
        "limits of the lubrication regimes",
        begin,
        [0, 1, 3],
        by=by,
        within=1e-12,
        over=over,
    )


def test_friction_without_load(road):
    """Petroff's law: a centred shaft shears its oil, 4 pi^2 mu N l r^3 / c."""
    ours = at_work.running(SLEEVE, 0.02, 1075.0, 50.0, 1000.0)
    sheared = ours.viscosity * 2 * pi * 1075 / 60 * 0.00635 / 12.7e-6  # stress, Pa
    torque = quad(lambda _: sheared * 0.01905 * 0.00635**2, 0, 2 * pi)[0]
    by = "Petroff's law, the limit without load, SciPy quad"
    road("sleeve_running", "torque of a light load", ours.torque, torque, by=by, within=1e-3)


def test_an_hour_of_starts(road):
    """An hour of running with three starts, second by second; faces rub below 400 rpm."""
    time = np.linspace(0, 1200, 1200 * 50 + 1)
    rpm = np.interp(time, [0, 6, 1176, 1200], [0, 1075, 1075, 0])
    rubs = np.where(rpm < 400.0, rpm / 60, 0.0)
    turns = np.trapezoid(rubs, time)
    of_start, of_stop = (at_work.revolutions_below(400.0, 1075.0, ramp) for ramp in (6.0, 24.0))
    by = "an hour of starts and stops, second by second, NumPy trapezoid"
    what = "revolutions of a start and a stop"
    road("sleeve_running", what, of_start + of_stop, turns, by=by, within=2e-3)
    ours = sleeve_running.rubbing(0.0127, 1075.0, 10.0, of_start + of_stop, 3.0)
    theirs = 3 * turns * pi * 0.0127 / 3600
    road("sleeve_running", "sliding distance", ours, theirs, by=by, within=2e-3)
    # worn volume of an hour over the projected bore, hour by hour until 26 um are gone
    volume = 1e-16 * 40.0 * theirs * 3600
    hours = 26e-6 * 0.0127 * 0.01905 / volume
    ours = sleeve_running.wear_life(26e-6, 1e-16, 40.0 / (0.0127 * 0.01905), ours)
    road("sleeve_running", "wear life", ours, hours, by=by, within=2e-3)


def test_oil_that_ages_along_a_way(road):
    aged = solve_ivp(lambda _, life: -np.log(2) / 10 * life, (60, 83), [2e4], rtol=1e-10).y[0, -1]
    ours = sleeve_running.oil_life(83.0, 2e4, 60.0)
    by = "differential equation of the same law, SciPy solve_ivp (no independent formula)"
    road("sleeve_running", "life of the oil", ours, aged, by=by, within=1e-6)


@pytest.mark.parametrize(("bore", "outside"), [(0.014, 0.024), (0.010, 0.030)])
def test_washer_ring_by_ring(road, bore, outside):
    """Worn in, pressure times radius is even: load, torque and heat of rings added up."""
    inner, outer, turning = bore / 2, outside / 2, 1075 * pi / 30
    usual = np.array([0.05, 0.15])  # oiled steel on bronze: common practice, no source
    even = 20.0 / quad(lambda r: 2 * pi * r / r, inner, outer)[0]  # pressure times radius
    torque = quad(lambda r: 0.1 * even / r * 2 * pi * r * r, inner, outer)[0]
    heat = quad(lambda r: 0.1 * even / r * r * turning * 2 * pi * r, inner, outer)[0]
    ours = sleeve_running.washer(20.0, 1075.0, bore, outside, 0.1)
    by = "rings with uniform wear, SciPy quad"
    for what, mine, other in (("torque", ours.torque, torque), ("heat", ours.loss, heat)):
        road("sleeve_running", what, mine, other, by=by, within=1e-12)
    of_range = sleeve_running.washer(20.0, 1075.0, bore, outside, sleeve_running.FRICTION_WASHER)
    theirs = torque / 0.1 * usual
    road("sleeve_running", "torque", of_range.torque, theirs, by=by, within=1e-12)
    pressed = quad(lambda r: even / r * 2 * pi * r, inner, outer)[0] / (pi * (outer**2 - inner**2))
    road("sleeve_running", "pressure", ours.pressure_mean, pressed, by=by, within=1e-12)
    pv = heat / 0.1 / (pi * (outer**2 - inner**2))
    road("sleeve_running", "pressure times speed", ours.pv, pv, by=by, within=1e-12)

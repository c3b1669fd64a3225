"""Independent methods for figures of fans and fleets: polynomial roots, brute force, whole warm motors."""

import platform
import sys
from itertools import combinations

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

from airover.business import fleet_response
from airover.business.fleet_files import Table, rows_of
from airover.business.fleet_screen import Screener
from airover.business.fleet_units import job_of
from airover.core.files import data_folder
from airover.model.cooling import AirStream, warmed
from airover.model.simulation import identify_motors, lowest_voltages
from airover.physics import operating_point
from airover.physics.fan import FanCurve
from airover.physics.fan_points import outliers, smoothed
from airover.records.catalog import read_catalog
from airover.selection import screening, screening_kernel
from airover.selection.answer import answer

FLOW = np.array([0.0, 0.3, 0.5, 0.75, 0.9, 1.2, 1.5])
PRESSURE = np.array([60.0, 30.0, 22.0, 45.0, 42.0, 25.0, 0.0])  # an invented fan with a stall
STALLING = FanCurve(FLOW, PRESSURE, np.full(7, 150.0), 1075.0, 1.2)


@pytest.mark.parametrize("resistance", [5.0, 20.0, 62.0, 80.0, 87.0, 200.0, 1000.0])
def test_every_crossing(road, resistance):
    """Each cubic piece less k Q^2 by the eigenvalues of its companion matrix."""
    pieces, found = PchipInterpolator(FLOW, PRESSURE), []
    for number, start in enumerate(FLOW[:-1]):
        system = resistance * np.array([0, 1, 2 * start, start**2])
        roots = np.roots(pieces.c[:, number] - system)
        real = roots[np.abs(roots.imag) < 1e-9].real
        found += list(start + real[(real >= 0) & (real < FLOW[number + 1] - start)])
    ours = STALLING.operating_points(resistance, 1075.0, 1.2)
    assert len(ours) == len(found)
    found = np.sort(found)
    by = "roots of each cubic piece, NumPy roots"
    flows = [one.flow for one in ours]
    road("fan", "flow at all crossings", flows, found, by=by, within=1e-8)
    stable = [one.stable for one in ours]
    # just beyond a stable crossing the system asks for more than the fan gives
    beyond = found + 1e-5
    falls = pieces(beyond) < resistance * beyond**2
    by = "fan and system curves slightly beyond the crossing"
    road("fan", "stability of the operating points", stable, falls, by=by, within=0, over=1)


@pytest.mark.parametrize(("size", "strays"), [(7, (3,)), (9, (2, 6)), (14, (1, 6, 11))])
def test_strays_by_brute_force(road, size, strays):
    """Every set of points left out in turn, NumPy's polyfit through the others."""
    flow = np.linspace(0.2, 1.8, size)
    values = 60 - 18 * flow**2 + np.random.default_rng(size).normal(0, 0.3, size)
    values[list(strays)] += 15 * (-1.0) ** np.arange(len(strays))
    degree = 2 + (size >= 10)

    def squares(out):
        kept = np.setdiff1d(np.arange(size), out)
        return np.polyfit(flow[kept], values[kept], degree, full=True)[1][0]

    best = min(combinations(range(size), len(strays)), key=squares)
    ours, theirs = (np.isin(np.arange(size), found) for found in (outliers(flow, values), best))
    by = "every set left out in turn, NumPy polyfit"
    what = "points that are outliers"
    road("fan_points", what, ours, theirs, by=by, within=0, over=1)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_smoothing_by_matrices(road, seed):
    """The spline by its penalty matrix Q R^-1 Q' (Green and Silverman; from memory, recomputed)."""
    random = np.random.default_rng(seed)
    flow = np.sort(random.uniform(0.1, 1.8, 12))
    values = 60 - 18 * flow**2 + random.normal(0, 2.0, 12)
    step = np.diff((flow - flow[0]) / np.ptp(flow))
    second = np.zeros((12, 10))
    for i in range(10):
        second[i : i + 3, i] = 1 / step[i], -1 / step[i] - 1 / step[i + 1], 1 / step[i + 1]
    inner = np.diag((step[:-1] + step[1:]) / 3)
    inner += np.diag(step[1:-1] / 6, 1) + np.diag(step[1:-1] / 6, -1)
    penalty = second @ np.linalg.solve(inner, second.T)
    tried = []
    for stiffness in np.logspace(-5, 1, 13):
        hat = np.linalg.inv(np.eye(12) + stiffness * penalty)
        line = hat @ values
        score = np.sum((values - line) ** 2) / (12 - 1.4 * np.trace(hat)) ** 2
        tried.append((score if np.trace(hat) < 12 / 1.4 else np.inf, line))
    theirs = min(tried, key=lambda one: one[0])[1]
    ours = smoothed(flow, values).values
    by = "penalty matrix of the cubic spline, NumPy linalg"
    over = np.ptp(values)
    what = "smooth line, over the range of the values"
    road("fan_points", what, ours, theirs, by=by, within=1e-6, over=over)


INTEL_MAC = sys.platform == "darwin" and platform.machine() != "arm64"
needs_numba = pytest.mark.skipif(
    INTEL_MAC, reason="there is no numba for Macs with an Intel processor"
)
DRAWS, CASES = 6, 12


@pytest.fixture(scope="module")
def fleet():
    """One motor's polynomials, and units with draws of load, air and cooling."""
    motor = next(
        one for one in read_catalog(data_folder() / "catalogue.csv")
        if one.poles == 6 and one.voltage_low == 208 and one.voltage_high == 230
    )  # fmt: skip
    random = np.random.default_rng(7)
    ends = np.array([fleet_response.ends_of(motor.voltage_low, motor.voltage_high)])
    lowest = np.array(lowest_voltages([motor]))[:, None]
    found = fleet_response.fitted(
        identify_motors((motor,), DRAWS),
        ends,
        lowest,
        np.full((1, 1), motor.frequency),
    )

    def drawn(low, high, *shape):
        return random.uniform(low, high, shape or (CASES, DRAWS))

    nothing = np.full(CASES, np.nan)
    units = screening.ScreenedUnits(
        coefficient=found.heaviest * drawn(0.35, 0.7, CASES, 1) * drawn(0.95, 1.05),
        speed_rpm=np.full((CASES, DRAWS), 1075.0),
        temp_air=drawn(35.0, 60.0),
        log_cooling=np.log(drawn(2e-3, 12e-3, CASES, 1)) + np.zeros(DRAWS),
        temp_over=drawn(5.0, 12.0),
        voltage=np.repeat(drawn(215.0, 240.0, CASES, 1), 3, axis=1),
        said=np.full((CASES, 2), np.nan),
        measured=nothing,
        weather=nothing,
        sideways=np.full(CASES, screening.HORIZONTAL),
        old=nothing,
        facts=nothing,
    )
    return motor, found, units


OUTDOOR = np.array([20.0, 38.0])


def share_of_reach(surfaces, units, case, draw, temp):
    """Load over the heaviest that the polynomials follow, and the voltage from -1 to 1."""
    low, high = surfaces.voltage[0]
    volts = np.clip(2 * (units.voltage[case, 1] - low) / (high - low) - 1, -1, 1)
    own, air = units.temp_air[case, draw], temp + units.temp_over[case, draw]
    breakdown = np.polyval(surfaces.breakdown[0, ::-1, draw], volts)
    ends = np.array([screening.REACH * breakdown, surfaces.heaviest[0, draw]])
    heaviest = np.sum(ends**-8.0) ** (-1 / 8)
    return units.coefficient[case, draw] * (own + 273.15) / (air + 273.15) / heaviest, volts


def kelvin_over(surfaces, units, case, temp):
    """Rise [K] of the winding by NumPy's Chebyshev series in four dimensions."""
    rises = []
    for draw in range(DRAWS):
        cooling, air = units.log_cooling[case, draw], temp + units.temp_over[case, draw]
        share, volts = share_of_reach(surfaces, units, case, draw, temp)
        at = [volts]
        # Kloss's slip over that of breakdown is the tangent of half the angle
        shares = np.array([surfaces.lightest, np.clip(share, surfaces.lightest, 1), 1])
        least, asked, most = np.tan(np.arcsin(screening.REACH * shares) / 2)
        at.append(2 * (asked - least) / (most - least) - 1)
        for value, (start, end) in ((air, surfaces.air), (cooling, surfaces.log_cooling)):
            at.append(np.clip(2 * (value - start) / (end - start) - 1, -1, 1))
        series = np.zeros(surfaces.terms.max(axis=0) + 1)
        weights = surfaces.coefficients[units.sideways[case], 0, screening.RISE, :, draw]
        series[tuple(surfaces.terms.T)] = weights
        for x in at:
            series = np.polynomial.chebyshev.chebval(x, series)
        rises.append(np.exp(series))
    return np.array(rises)


@needs_numba
def test_polynomials_by_numpy(road, fleet):
    _, surfaces, units = fleet
    ours = screening_kernel.winding_temperatures(
        surfaces, units, np.zeros(CASES, dtype=int), OUTDOOR
    )
    rises = ours - OUTDOOR[:, None] - units.temp_over[:, None]
    theirs = [[kelvin_over(surfaces, units, case, t) for t in OUTDOOR] for case in range(CASES)]
    by = "Chebyshev series of NumPy in double precision, Kloss's rule by half angles"
    road("screening_kernel", "winding temperature rise", rises, theirs, by=by, within=1e-5)


@needs_numba
def test_polynomials_beside_the_whole_motor(road, fleet):
    """The motor settled and warmed up in full where no polynomial has a node.

    Beyond REACH of breakdown, motors are not followed: there is nothing to compare.
    """
    motor, surfaces, units = fleet
    rated, shell = identify_motors((motor,), DRAWS)
    ours = screening_kernel.winding_temperatures(
        surfaces, units, np.zeros(CASES, dtype=int), OUTDOOR
    )
    for number, outdoor in enumerate(OUTDOOR):
        air = outdoor + units.temp_over
        load = units.coefficient * (units.temp_air + 273.15) / (air + 273.15)
        stream = AirStream(air[:, None], np.exp(units.log_cooling)[:, None] * 1000, 1000.0, 0.0)
        warm = warmed(
            rated, shell, stream, units.voltage[:, 1, None, None], 60.0, load[:, None],
            settle=operating_point.settle,
        )  # fmt: skip
        rises, whole = ours[:, number] - air, warm.temp_winding[:, 0] - air
        followed = np.array([
            [share_of_reach(surfaces, units, case, draw, outdoor)[0] <= 1 for draw in range(DRAWS)]
            for case in range(CASES)
        ])  # fmt: skip
        assert followed.mean() > 0.7
        rises, whole = rises[followed], whole[followed]
        by = "the full motor model, settled and warmed up, in NumPy"
        road(
            "screening", "winding temperature rise by polynomials", rises, whole, by=by, within=0.01
        )


@needs_numba
def test_units_as_single_jobs(road):
    """Six units screened together, and each worked as a job of its own.

    A fan of the nameplate's full power brings some samples close to breakdown, where amps rise
    steeply: worksheets/guide/fleet.md promises 1.5 % of amps and 2 K for nine units of ten.
    """
    pytest.importorskip("pyarrow")
    motors = [one for one in read_catalog(data_folder() / "catalogue.csv") if one.poles == 6]
    motors = [one for one in motors if (one.voltage_low, one.voltage_high) == (208, 230)][::33]
    rows = next(Table(data_folder() / "fleet" / "example-units.parquet").parts())
    rows = rows.slice(0, 400)
    found = Screener(motors, fleet_response.surfaces(motors)).screened(rows_of(rows))
    served = np.flatnonzero(found.best.motor[:, 0] >= 0)[:6]
    assert len(served) == 6
    for at in served:
        job = job_of(rows.slice(int(found.taken[at]), 1).to_pylist()[0])
        by_name = {one.case.motor.name: one.case for one in answer(job, motors).candidates}
        case = by_name[motors[found.best.motor[at, 0]].name]
        ours, by = found.best.figures[at, 0], "a single job for each unit, full motor model"
        theirs = case.current.mid, case.band("capacitor_v").mid
        what = "amps and capacitor volts of the best motor"
        road("screening_kernel", what, ours[[1, 9]], theirs, by=by, within=0.02)
        what, over = "its winding temperature, over the rise", case.band("rise_k").mid
        road("screening_kernel", what, ours[4], case.winding.mid, by=by, within=0.03, over=over)

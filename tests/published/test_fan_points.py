"""Scattered points of a fan by other roads: the rules written out with refits and closed forms."""

from itertools import combinations

import numpy as np
import pytest
from scipy.stats import norm

from airover.physics.fan_points import DEVIATION_OF_MAD, outliers, smoothed


def scattered(seed, size, deviation):
    """Points around an invented curve; up to three of them stray, more or less far."""
    random = np.random.default_rng(seed)
    flow = np.sort(random.uniform(0.1, 1.8, size))
    values = 60 - 18 * flow**2 + 4 * np.sin(4 * flow) + random.normal(0, deviation, size)
    strays = random.choice(size, random.integers(0, 4), replace=False)
    values[strays] += random.choice([-1, 1], strays.size) * random.uniform(2, 12, strays.size)
    return flow, values


def named(flow, values, threshold):
    """Least trimmed squares by every set; then one point after the other, each fit anew.

    A point's residual has the deviation s sqrt(1 - h) where the fit has seen the point and
    s sqrt(1 + h) where it has not, h = x (X'X)^-1 x' (any book on regression).
    """
    size = flow.size
    degree = 2 + (size > 9) + (size > 17)
    powers = np.vander(flow, degree + 1)

    def squares(out):
        kept = np.setdiff1d(np.arange(size), out)
        return np.linalg.lstsq(powers[kept], values[kept], rcond=None)[1][0]

    out = list(min(combinations(range(size), 1 + (size > 7) + (size > 13)), key=squares))
    while out:
        kept = np.setdiff1d(np.arange(size), out)
        line = np.polyval(np.polyfit(flow[kept], values[kept], degree), flow)
        seen = np.linalg.inv(powers[kept].T @ powers[kept])
        h = np.einsum("ij,jk,ik->i", powers, seen, powers)
        sign = np.where(np.isin(np.arange(size), out), 1, -1)
        residual = np.abs(values - line) / np.sqrt(1 + sign * h)
        # a meter does not tell 1 % of the range: that much is no scatter, 0.6745 s is its MAD
        typical = max(np.median(residual), 0.6745 * 0.01 * np.ptp(values[kept]))
        nearest = min(out, key=lambda one: residual[one])
        if 0.6745 * residual[nearest] / typical > threshold:
            return out
        out.remove(nearest)
    return out


@pytest.mark.parametrize("deviation", [0.02, 0.6])
@pytest.mark.parametrize("size", [6, 7, 8, 9, 10, 13, 14, 17, 18])
def test_the_whole_rule_written_out(road, size, deviation):
    for seed in range(6) if size < 14 else (3, 4):  # there are 800 sets of three
        flow, values = scattered(seed, size, deviation)
        theirs = np.isin(np.arange(size), named(flow, values, 3.5))
        ours = np.isin(np.arange(size), outliers(flow, values))
        by, what = "every set left out in turn and refitted", "outliers, one by one"
        road("fan_points", what, ours, theirs, by=by, within=0, over=1)


def test_median_deviation_of_normal_errors(book):
    item, source = "MAD over standard deviation", "normal quantile of 3/4, SciPy, run in this test"
    ours = DEVIATION_OF_MAD  # 0.6745, four figures as Iglewicz & Hoaglin print it
    book.agrees(item, ours, norm.ppf(0.75), within=5e-5, source=source)


def penalty(at):
    """Q R^-1 Q' of a cubic spline (Green and Silverman; from memory, recomputed)."""
    step, size = np.diff(at), at.size
    second = np.zeros((size, size - 2))
    for i in range(size - 2):
        second[i : i + 3, i] = 1 / step[i], -1 / step[i] - 1 / step[i + 1], 1 / step[i + 1]
    inner = np.diag((step[:-1] + step[1:]) / 3)
    inner += np.diag(step[1:-1] / 6, 1) + np.diag(step[1:-1] / 6, -1)
    return second @ np.linalg.solve(inner, second.T)


@pytest.mark.parametrize("flows, repeated", [(7, 3), (5, 2), (9, 1), (5, 1)])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_repeated_readings_by_penalized_least_squares(road, flows, repeated, seed):
    """All single readings at once, none averaged first: (N'N + a K)^-1 N'y."""
    random = np.random.default_rng(seed)
    at = np.sort(random.uniform(0.1, 1.8, flows))
    place = np.sort(np.r_[np.arange(flows), random.integers(0, flows, flows * (repeated - 1))])
    values = 60 - 18 * at[place] ** 2 + random.normal(0, 2.0, place.size)
    readings = np.eye(flows)[place]
    stiff, tried = penalty((at - at[0]) / np.ptp(at)), []
    for stiffness in np.logspace(-5, 1, 13):
        made = np.linalg.solve(readings.T @ readings + stiffness * stiff, readings.T)
        freedom, line = np.trace(made @ readings), made @ values
        squares = np.sum((values - readings @ line) ** 2)
        if (left := place.size - 1.4 * freedom) > 0:
            deviation = np.sqrt(squares / (place.size - freedom))
            tried.append((squares / left**2, line, deviation))
    _, line, deviation = min(tried, key=lambda one: one[0])
    ours, by = smoothed(at[place], values), "penalized least squares of all single readings, NumPy"
    over, what = np.ptp(values), "smooth line of repeated readings, over the range of the values"
    road("fan_points", what, ours.values, line, by=by, within=1e-6, over=over)
    what = "standard deviation of one reading"
    road("fan_points", what, ours.deviation, deviation, by=by, within=1e-6)


def falling(values):
    """Least squares among falling sequences: max-min of means (Robertson, Wright & Dykstra)."""
    size = values.size
    return np.array(
        [
            min(
                max(values[a : b + 1].mean() for b in range(i, size))
                for a in range(i + 1)
            )
            for i in range(size)
        ]
    )  # fmt: skip


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("rise, lean", [(0.0, -1.0), (0.0, 2.0), (9.0, -1.0)])
def test_a_falling_line_by_means(road, rise, lean, seed):
    """A rise of some deviations is a stall and stays; beyond its peak the line falls."""
    flow = np.linspace(0.1, 1.8, 14)
    values = 40 - 8 * flow**2 + rise * np.exp(-30 * (flow - 0.8) ** 2)
    values[:5] += lean * np.linspace(0, 2, 5)
    values += np.random.default_rng(seed).normal(0, 0.9, 14)
    free, ours = smoothed(flow, values), smoothed(flow, values, falling=True)
    rises = [max(free.values[i] - free.values[: i + 1]) for i in range(14)]
    start = int(np.argmax(rises)) if max(rises) > 2 * free.deviation else 0
    theirs = np.r_[free.values[:start], falling(free.values[start:])]
    by, over = "max-min of means, written out", np.ptp(values)
    what = "falling line, over the range of the values"
    road("fan_points", what, ours.values, theirs, by=by, within=1e-9, over=over)

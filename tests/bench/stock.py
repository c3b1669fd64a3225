"""Calls to a stock: needs matched in batches beside one job after another, HiGHS beside CP-SAT."""

import time

import numpy as np
from ortools.sat.python import cp_model
from row import Row, timed

from airover.business.truck import Goods, TruckLoads, plan
from airover.core.files import data_folder
from airover.model.conditions import site_conditions
from airover.model.simulation import SAMPLES
from airover.records.calls import read_calls
from airover.records.catalog import read_catalog
from airover.selection.cover import match
from airover.selection.rules import VERDICTS, choose, compared


def matched(needs: int, sample: int) -> Row:
    """The first ``needs`` of the sample's calls against the catalog; one by one the same work."""
    motors = read_catalog(data_folder() / "catalogue.csv")
    jobs = read_calls(data_folder() / "calls" / "calls.csv").needs[:needs]
    match(jobs[:1], motors)  # compiled code is loaded
    start = time.perf_counter()
    found = match(jobs, motors)
    ours = time.perf_counter() - start
    places = [at for at in range(needs) if at not in found.refused][:sample]

    def loop():
        return [choose(_alone(jobs[at], motors)) for at in places]

    seconds, judged = timed(loop)
    same = [
        VERDICTS[found.verdict[at, one.case.number]] == one.verdict
        for at, candidates in zip(places, judged, strict=True)
        for one in candidates
    ]
    name = f"simulated and judged job by job; {len(places)} timed, scaled"
    what = f"{needs} needs matched with {len(motors)} motors"
    return Row(what, ours, name, seconds * needs / len(places), 1 - np.mean(same), 0.0)


def _alone(job, motors):
    return compared(job, motors, site_conditions(job, SAMPLES), SAMPLES, 0)


def planned(motors: int, calls: int) -> Row:
    """The best truck for calls that come one in a load; both may stop within half a per cent."""
    rng = np.random.default_rng(3)
    fits = rng.random((calls, motors)) < 0.04
    price = np.r_[rng.integers(60, 200, motors), 0, 0].astype(float)
    goods = Goods(np.arange(motors), np.zeros(motors, int), np.ones(1), price, 0 * price)
    loads = TruckLoads(np.arange(calls), fits, np.zeros_like(fits), np.arange(calls), calls)
    ours, found = timed(lambda: plan(loads, goods, 1500.0, 1.0))
    peer, most = timed(lambda: _by_cp_sat(fits, price[:motors], 1500))
    apart = abs(found.fixed * calls / most - 1)
    what = f"best truck, {motors} motors, {calls} calls"
    return Row(what, ours, "OR-Tools CP-SAT, 20 s at most", peer, apart, 0.01)


def _by_cp_sat(fits, price, budget: int) -> float:
    model = cp_model.CpModel()
    carried = [model.new_bool_var("") for _ in price]
    fixed = [model.new_bool_var("") for _ in fits]
    for call, one in enumerate(fixed):
        model.add(one <= sum(carried[number] for number in np.flatnonzero(fits[call])))
    model.add(sum(int(p) * x for p, x in zip(price, carried, strict=True)) <= budget)
    model.maximize(sum(fixed))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = 20.0
    solver.parameters.relative_gap_limit = 0.002
    solver.parameters.num_workers = 1
    solver.solve(model)
    return solver.objective_value

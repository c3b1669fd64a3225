"""Stock against textbooks: the newsvendor, Poisson's loss, a queue, and a second solver."""

import numpy as np
import pytest
from scipy import stats

from airover.business.counter import backorders, fill_rate, newsvendor, predictive, sales
from airover.business.truck import Goods, TruckLoads, plan
from tests.business.test_replay import erlang_b, shelf_served


def test_newsvendor(book):
    """Bought at .25, sold at .75, taken back at .10; mean 11.73, deviation 4.74: 15 a week."""
    ours = newsvendor(stats.norm(11.73, 4.74), underage=0.50, overage=0.15)
    source = "Nahmias, Production and Operations Analysis, Mac's newsstand, from memory, recomputed"
    book.agrees("newsvendor: newspapers per week", ours, 15, within=1e-9, source=source)
    # the book rounds z up to .85, a hundredth of a deviation more than the ratio asks for
    ours = newsvendor(stats.norm(3192, 1181), underage=80, overage=20)
    source = (
        "Cachon and Terwiesch, Matching Supply with Demand, Hammer 3/2 wetsuit, "
        "from memory, recomputed"
    )
    book.agrees("newsvendor: suits per season", ours, 4196, within=0.004, source=source)


@pytest.mark.parametrize(("level", "printed"), [(1, 0.36788), (2, 0.10364), (3, 0.02334)])
def test_poisson_loss(book, level, printed):
    source = "Sherbrooke, Optimal Inventory Modeling of Systems, expected backorders, pipeline of 1"
    ours = float(backorders(stats.poisson(1.0), level))
    item = f"expected backorders, Poisson pipeline of 1, {level} in stock"
    # printed to five digits
    book.agrees(item, ours, printed, within=3e-4, source=f"{source}, from memory, recomputed")


def test_poisson_fill_rate(book):
    """P(at most 2 on order) for a pipeline of 2: e^-2 (1 + 2 + 2)."""
    ours = float(fill_rate(stats.poisson(2.0), 3))
    source = "Palm's theorem, closed form, recomputed in this test"
    book.agrees(
        "fill rate, pipeline 2, 3 in stock", ours, 5 * np.exp(-2), within=1e-12, source=source
    )


def test_expected_sales(book):
    """The sum of tails against the expectation that SciPy adds up itself."""
    law = predictive(12, 365.0, 30.0)
    theirs = law.expect(lambda k: np.minimum(k, 2))
    source = "scipy.stats nbinom.expect, run in this test"
    book.agrees(
        "expected sales of 2 units", float(sales(law, 2)), theirs, within=1e-9, source=source
    )


def test_gamma_and_poisson(book):
    """A rate known from 12 calls in a year: mean and variance of what a month asks for."""
    law = predictive(12, 365.0, 30.0)
    mean = 12.5 / 365 * 30
    source = "Gelman and others, Bayesian Data Analysis, negative binomial predictive law, "
    source += "from memory, recomputed"
    book.agrees("predictive mean", float(law.mean()), mean, within=1e-9, source=source)
    variance = mean * (1 + 30 / 365)
    book.agrees("predictive variance", float(law.var()), variance, within=1e-9, source=source)


def test_a_shelf_and_erlang(book):
    """18 000 simulated calls; the standard error is .002, and days are whole: half a day of 120."""
    source = "Erlang's loss formula, by its recursion in this test"
    item = "replay: second visits served from a stock of 6, 3.6 on order"
    book.agrees(
        item, shelf_served(6, 0.03, 120.0), 1 - erlang_b(6, 3.6), within=0.01, source=source
    )


def test_erlangs_table(book):
    """The formula beside which the replay is put: 4.46 erlang on 10 lines lose one call in 100."""
    source = "Erlang B tables of telephony, 10 lines, 1 %, from memory, recomputed"
    book.agrees(
        "Erlang B, 10 lines, 4.461 erlang", erlang_b(10, 4.461), 0.01, within=1e-3, source=source
    )


def test_maximum_coverage(book):
    """Twenty motors, 60 needs, no depth: HiGHS here, CP-SAT there, the same number of calls."""
    cp_model = pytest.importorskip("ortools.sat.python.cp_model")
    rng = np.random.default_rng(12)
    fits = rng.random((60, 20)) < 0.12
    price = rng.integers(50, 150, 20)
    goods = Goods(np.arange(20), np.zeros(20, int), np.ones(1), np.r_[price, 0, 0].astype(float),
                  np.zeros(22))  # fmt: skip
    loads = TruckLoads(np.arange(60), fits, np.zeros_like(fits), np.arange(60), 60)
    model = cp_model.CpModel()
    carried = [model.new_bool_var("") for _ in price]
    fixed = [model.new_bool_var("") for _ in fits]
    for call, one in enumerate(fixed):
        model.add(one <= sum(carried[number] for number in np.flatnonzero(fits[call])))
    model.add(sum(int(p) * x for p, x in zip(price, carried, strict=True)) <= 600)
    model.maximize(sum(fixed))
    solver = cp_model.CpSolver()
    assert solver.solve(model) == cp_model.OPTIMAL
    ours = 60 * plan(loads, goods, 600.0, 1.0).fixed
    source = "OR-Tools CP-SAT, run in this test"
    book.agrees(
        "maximum calls fixed for 600", ours, solver.objective_value, within=1e-6, source=source
    )

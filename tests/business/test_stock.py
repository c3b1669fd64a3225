"""Demand and stock: laws, small programmes against every subset, a second solver, plain sense."""

import itertools
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from airover.business import truck as stock
from airover.business.counter import (
    backorders,
    base_stock,
    counter_stock,
    fill_rate,
    newsvendor,
    predictive,
)
from airover.business.counter import sales as sold_of
from airover.business.truck import (
    GAP,
    Goods,
    Terms,
    TruckLoads,
    budgets_up_to,
    calls_in_a_load,
    curve,
    goods_of,
    next_motors,
    overdispersed,
    plan,
    sampled_loads,
    served,
)
from airover.core.errors import InputError
from airover.core.texts import ENGLISH
from airover.records.calls import Calls
from airover.reports.stock import curve_lines
from airover.selection.cover import match
from tests.jobs import HORSEPOWER, MOTOR, job, motor

SOLVER = 1e-6  # HiGHS holds rows to 1e-7


def problem(seed, motors=5, loads=6, sizes=2, likely=0.35):
    """A small stock problem: goods and drawn loads."""
    rng = np.random.default_rng(seed)
    count = rng.poisson(2.0, loads) + (np.arange(loads) == 0)
    fits = rng.random((count.sum(), motors)) < likely
    banded = fits & (rng.random(fits.shape) < 0.3)
    price = np.concatenate([rng.integers(60, 120, motors), np.full(sizes, 12), [9]]).astype(float)
    volume = np.concatenate([rng.uniform(0.008, 0.02, motors), np.full(sizes, 0.001), [0.001]])
    capacitor = rng.integers(sizes, size=motors)
    goods = Goods(np.arange(motors), capacitor, np.arange(sizes) + 1.0, price, volume)
    need = np.zeros(len(fits), int)
    return goods, TruckLoads(need, fits, banded, np.repeat(np.arange(loads), count), loads)


def most_served(units, loads, goods):
    """Calls fixed by a truck, by trying every way to hand out its units, load by load."""
    return sum(
        _hand_out(np.flatnonzero(loads.load == one), tuple(units), loads, goods)
        for one in range(loads.count)
    )


def _hand_out(calls, units, loads, goods):
    if not len(calls):
        return 0
    call, rest = calls[0], calls[1:]
    best = _hand_out(rest, units, loads, goods)
    for number in np.flatnonzero(loads.fits[call]):
        left = list(units)
        left[number] -= 1
        left[goods.motors + goods.capacitor[number]] -= 1
        left[-1] -= loads.banded[call, number]
        if min(left) >= 0:
            best = max(best, 1 + _hand_out(rest, tuple(left), loads, goods))
    return best


def every_truck(goods, budget, space, most=2):
    """All trucks within money and space, at most ``most`` units of a thing."""
    for units in itertools.product(range(most + 1), repeat=len(goods.price)):
        if goods.price @ units <= budget and goods.volume @ units <= space:
            yield np.array(units)


@pytest.mark.parametrize("seed", range(4))
def test_the_plan_is_the_best_of_all_trucks(seed):
    goods, loads = problem(seed, motors=3, loads=4)
    found = plan(loads, goods, budget=230.0, space=0.06)
    best = max(most_served(u, loads, goods) for u in every_truck(goods, 230.0, 0.06))
    ours = most_served(found.units, loads, goods)
    assert ours == best
    assert ours == pytest.approx(found.fixed * len(loads.load), abs=0.5)
    assert found.money <= 230 + 1e-6 and found.space <= 0.06 + 1e-9


@pytest.mark.parametrize("seed", range(3))
def test_a_second_solver_finds_the_same(seed):
    """OR-Tools CP-SAT on the same problem, written down a second time, in whole numbers."""
    cp_model = pytest.importorskip("ortools.sat.python.cp_model")
    goods, loads = problem(seed + 20, motors=8, loads=12, sizes=3)
    model = cp_model.CpModel()
    units = [model.new_int_var(0, 8, "") for _ in goods.price]
    pairs = {
        (call, number): model.new_bool_var("") for call, number in np.argwhere(loads.fits).tolist()
    }
    for call in range(len(loads.load)):
        model.add_at_most_one(y for (c, _), y in pairs.items() if c == call)
    for load in range(loads.count):
        mine = {key: y for key, y in pairs.items() if loads.load[key[0]] == load}
        for number in range(goods.motors):
            model.add(sum(y for (_, n), y in mine.items() if n == number) <= units[number])
        for size in range(len(goods.sizes)):
            taken = sum(y for (_, n), y in mine.items() if goods.capacitor[n] == size)
            model.add(taken <= units[goods.motors + size])
        model.add(sum(y for key, y in mine.items() if loads.banded[key]) <= units[-1])
    model.add(sum(int(p) * x for p, x in zip(goods.price, units, strict=True)) <= 450)
    model.maximize(sum(pairs.values()))
    solver = cp_model.CpSolver()
    assert solver.solve(model) == cp_model.OPTIMAL
    found = plan(loads, goods, budget=450.0, space=9.0)
    calls = len(loads.load)
    assert found.fixed * calls == pytest.approx(
        solver.objective_value, abs=0.75
    )  # bands: fractions
    assert round(served(found.units, loads, goods) * calls) == round(found.fixed * calls)


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 10**6), st.floats(50, 500), st.floats(1.0, 2.0))
def test_more_money_or_room_never_fixes_less(seed, budget, more):
    goods, loads = problem(seed)
    low = plan(loads, goods, budget, 0.08)
    assert plan(loads, goods, more * budget, 0.08).bound >= low.fixed - SOLVER
    assert plan(loads, goods, budget, more * 0.08).bound >= low.fixed - SOLVER
    assert 0 <= low.fixed <= low.bound + SOLVER <= 1 + SOLVER
    assert low.money <= budget + 1e-6


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 10**6))
def test_a_motor_more_to_choose_from_never_fixes_less(seed):
    goods, loads = problem(seed)
    without = np.arange(goods.motors) > 0
    low = plan(loads, goods, 300.0, 9.0, allowed=without)
    assert low.units[0] == 0
    assert plan(loads, goods, 300.0, 9.0).bound >= low.fixed - SOLVER


def test_one_motor_of_four_ratings_stands_for_four():
    """Four needs, four motors with one rating each at 80, or one that does for all at 100."""
    fits = np.hstack([np.eye(4, dtype=bool), np.ones((4, 1), bool)])
    goods = Goods(np.arange(5), np.zeros(5, int), np.ones(1), np.array([80.0] * 4 + [100, 12, 9]),
                  np.full(7, 0.01))  # fmt: skip
    loads = TruckLoads(np.arange(4), fits, np.zeros((4, 5), bool), np.arange(4), 4)
    found = plan(loads, goods, budget=120.0, space=1.0)
    assert found.fixed == 1 and found.units[4] == 1
    single = plan(loads, goods, 120.0, 1.0, allowed=np.arange(5) < 4)
    assert single.fixed == 0.25


def test_a_capacitor_is_shared_by_motors_and_a_band_is_carried_where_it_is_wanted():
    fits = np.eye(2, dtype=bool)
    goods = Goods(np.arange(2), np.zeros(2, int), np.ones(1), np.array([80.0, 80, 12, 9]),
                  np.full(4, 0.01))  # fmt: skip
    apart = TruckLoads(np.arange(2), fits, fits & [[True, False]], np.arange(2), 2)
    found = plan(apart, goods, budget=181.0, space=1.0)  # one capacitor does for both loads
    assert found.fixed == 1 and found.units.tolist() == [1, 1, 1, 1]
    assert plan(apart, goods, budget=180.0, space=1.0).fixed == 0.5
    together = apart._replace(load=np.zeros(2, int), count=1)
    assert plan(together, goods, budget=192.0, space=1.0).fixed == 0.5  # two capacitors needed
    assert plan(together, goods, budget=193.0, space=1.0).fixed == 1


def test_the_gap_is_that_of_the_solver():
    goods, loads = problem(3, motors=10, loads=40)
    found = plan(loads, goods, 400.0, 9.0)
    assert 0 <= found.gap <= GAP
    assert served(found.units, loads, goods) == pytest.approx(found.fixed, abs=1e-6)


def test_the_next_motor_fixes_what_is_left():
    goods, loads = problem(8, motors=6, loads=30)
    found = plan(loads, goods, 300.0, 9.0)
    first, *_ = next_motors(found, loads, [job()], [f"motor {n}" for n in range(6)])
    units = found.units.copy()
    units[first.motor] += 1
    units[goods.motors + goods.capacitor[first.motor]] += 1
    units[-1] += 1
    gained = served(units, loads, goods) - found.fixed
    assert gained >= first.gain - 0.5 / len(loads.load) > 0
    why = ENGLISH(first.why)
    assert f"motor {first.motor}" in why and "1/3 hp" in why


def test_a_curve_goes_from_one_motor_up_and_is_tried_on_other_calls():
    goods, loads = problem(1, motors=6, loads=40)
    _, other = problem(1, motors=6, loads=40)
    amounts = budgets_up_to(goods, 400.0, 5)
    assert (np.diff(amounts) > 0).all() and 400.0 in amounts
    plans = curve(loads, other, goods, amounts, 9.0)
    assert plans[0].units[: goods.motors].sum() == 1
    assert [p.fixed for p in plans] == pytest.approx([p.fresh for p in plans], abs=1e-6)


def history(numbers, per_day=3, days=900, seed=1):
    """Calls for needs 0, 1, ... with shares ``numbers``, on days that cluster."""
    rng = np.random.default_rng(seed)
    day = np.sort(rng.choice(days, per_day * days, p=(w := rng.gamma(4.0, size=days)) / w.sum()))
    need = rng.choice(len(numbers), len(day), p=np.array(numbers) / np.sum(numbers))
    needs = tuple(job(nameplate__power=f"{p} W") for p in np.linspace(240, 250, len(numbers)))
    days = np.datetime64("2022-01-01") + day
    return Calls(days, ("",) * len(day), needs, need)


def test_calls_in_a_load_keep_mean_and_what_is_beyond_poisson():
    calls = history([1])
    one = calls_in_a_load(calls, Terms(trucks=1, days=1))
    four = calls_in_a_load(calls, Terms(trucks=4, days=1))
    counts = np.bincount((calls.days - calls.days.min()).astype(int))
    assert one.mean() == pytest.approx(counts.mean()) and one.var() == pytest.approx(
        counts.var(ddof=1)
    )
    assert four.mean() == pytest.approx(one.mean() / 4)
    rng = np.random.default_rng(0)  # thinning, done call by call
    quarter = rng.binomial(one.rvs(200_000, random_state=rng), 0.25)
    assert four.var() == pytest.approx(quarter.var(), rel=0.03)


def test_drawn_needs_have_the_historys_shares():
    calls = history([6, 3, 1])
    matched = match(calls.needs, (MOTOR,))
    goods = goods_of(matched, Terms())
    loads = sampled_loads(calls, matched, goods, Terms(), most=20_000)
    shares = np.bincount(loads.need) / len(loads.need)
    np.testing.assert_allclose(shares, calls.counts / len(calls), atol=0.03)
    assert loads.fits.mean() == pytest.approx(matched.chance[:, 0] @ shares, abs=0.02)


def test_motors_without_a_price_are_not_stocked():
    priced = motor(model="b")
    matched = match([job()], (motor(price=None), priced))
    assert goods_of(matched, Terms()).motor.tolist() == [1]
    with pytest.raises(InputError) as caught:
        goods_of(match([job()], (motor(poles=8, speed_rpm=825.0),)), Terms())
    assert caught.value.field == "calls"


@pytest.mark.parametrize("wrong", [{"budget": 0}, {"days": -1}, {"service": 1.0}, {"trucks": 0}])
def test_terms_that_cannot_be_are_refused(wrong):
    with pytest.raises(InputError) as error:
        Terms(**wrong)
    assert error.value.field in wrong


def test_the_counter_keeps_more_for_a_longer_lead_time():
    calls = history([5, 1])
    matched = match(calls.needs, (MOTOR, motor(model="b", ratings=(HORSEPOWER / 3,))))
    goods = goods_of(matched, Terms())
    loads = sampled_loads(calls, matched, goods, Terms())
    planned = plan(loads, goods, 400.0, 1.0)
    short, long = (counter_stock(planned, loads, calls, Terms(lead_days=d)) for d in (2.0, 40.0))
    assert (long.level >= short.level).all() and long.money > short.money
    kept = long.level > 0
    assert (long.fill[kept] >= 0.95).all()
    assert long.asked[: goods.motors].sum() == pytest.approx(
        long.asked[goods.motors : -1].sum()
    )  # a capacitor with every motor


# Demand


def test_a_gamma_rate_gives_a_negative_binomial_demand():
    """Drawn in two steps, the rate first, as the law says in one."""
    rng = np.random.default_rng(2)
    law = predictive(7, 100.0, 30.0)
    asked = rng.poisson(rng.gamma(7.5, 1 / 100.0, 400_000) * 30)
    seen = np.bincount(asked, minlength=12)[:12] / len(asked)
    np.testing.assert_allclose(law.pmf(np.arange(12)), seen, atol=0.003)
    assert law.var() > law.mean()


def test_overdispersed_counts_have_the_moments_asked_for():
    law = overdispersed(3.0, 7.0)
    assert (law.mean(), law.var()) == pytest.approx((3.0, 7.0))
    assert overdispersed(3.0, 2.0).var() == 3.0  # never below Poisson's


@settings(max_examples=40, deadline=None)
@given(st.floats(0.05, 30), st.integers(0, 40))
def test_expected_sales_are_the_mean_of_the_lesser(mean, units):
    law = stats.poisson(mean)
    k = np.arange(400)
    assert sold_of(law, units) == pytest.approx(law.pmf(k) @ np.minimum(k, units), rel=1e-9)
    more = [sold_of(law, n) for n in range(units, units + 3)]
    assert more[2] - more[1] <= more[1] - more[0] + 1e-12  # concave
    assert backorders(law, units) == pytest.approx(law.pmf(k) @ np.maximum(k - units, 0), abs=1e-9)


@settings(max_examples=40, deadline=None)
@given(st.floats(0.05, 40), st.floats(0.01, 0.999))
def test_a_base_stock_is_the_least_that_serves(mean, wanted):
    law = stats.poisson(mean)
    level = int(base_stock(law, wanted))
    assert fill_rate(law, level) >= wanted > fill_rate(law, level - 1)


@settings(max_examples=40, deadline=None)
@given(st.floats(0.5, 40), st.floats(1, 50), st.floats(1, 50))
def test_the_newsvendor_earns_most_at_the_critical_ratio(mean, underage, overage):
    law, k = stats.poisson(mean), np.arange(300)

    def cost(units):
        short, left = np.maximum(k - units, 0), np.maximum(units - k, 0)
        return law.pmf(k) @ (underage * short + overage * left)

    best = newsvendor(law, underage, overage)
    assert cost(best) <= min(cost(n) for n in range(200)) + 1e-9


def test_demand_refuses_what_cannot_be():
    with pytest.raises(InputError):
        predictive(-1, 10.0, 1.0)
    with pytest.raises(InputError):
        predictive(1, 0.0, 1.0)
    with pytest.raises(InputError):
        newsvendor(stats.poisson(3), 1.0, 0.0)
    with pytest.raises(InputError):
        base_stock(stats.poisson(3), 1.0)


def test_of_a_short_history_loads_come_by_many_draws_of_its_rates():
    """One draw of the rates moves a need's share as a whole; many draws keep near the history."""
    needs = (job(), job(nameplate__speed="1070 rpm"))
    days = np.arange(40) + np.datetime64("2025-01-01")
    calls = Calls(days, ("",) * 40, needs, np.arange(40) % 2)
    matched = match(needs, [MOTOR], samples=8)
    goods = goods_of(matched, terms := Terms(trucks=1))
    shares = {
        rates: [sampled_loads(calls, matched, goods, terms, seed, 2000, rates).need.mean()
                for seed in range(30)] for rates in (1, 25)
    }  # fmt: skip
    one, many = (np.std(shares[rates]) for rates in (1, 25))
    assert one == pytest.approx(np.sqrt(0.25 / 41), rel=0.4)  # of a beta law, 20 and 20 calls
    assert many < 0.4 * one


def test_units_used_are_never_below_nothing(monkeypatch):
    """HiGHS holds what it hands out to 1e-7 only; the counter refuses a count below 0."""
    solved = stock.optimize.milp

    def a_little_low(*given, **options):
        found = solved(*given, **options)
        found.x -= 1e-9
        return found

    goods, loads = problem(1, motors=8, loads=30)
    monkeypatch.setattr(stock.optimize, "milp", a_little_low)
    assert plan(loads, goods, 300.0, 0.1).sold.min() == 0


def test_each_plan_of_the_curve_is_shown_with_its_own_money():
    def planned(money, fresh):
        return SimpleNamespace(money=money, fresh=fresh)

    plans, single = [planned(0.0, -0.0), planned(900.0, 0.5)], [planned(450.0, -1e-9)]
    found = SimpleNamespace(currency="USD", plans=plans, single=single)
    every, one_rating = curve_lines(found, ENGLISH)
    assert "900 USD" in every and "50 %" in every and "450" not in every
    assert "450 USD" in one_rating and "-0" not in one_rating

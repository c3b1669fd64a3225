"""The replay: each rule of it in a season small enough to follow by hand, and against a queue."""

import json

import numpy as np
import pytest
from scipy import stats

from airover.app.cli import main
from airover.business.counter import CounterStock, base_stock, fill_rate
from airover.business.stock import Arrivals, confirm, run, sampled_season, split
from airover.business.truck import Goods, Terms, TruckPlan, goods_of, plan, sampled_loads
from airover.core.errors import InputError
from airover.core.files import data_folder
from airover.records.calls import Calls
from airover.selection.cover import Matched
from tests.jobs import MOTOR, job, motor

OTHER = motor(model="b")


def setting(passes, truck, counter, banded=None, counter_kept=True, **terms):
    """Needs against two motors with capacitors of one size; what truck and counter have."""
    passes = np.array(passes, bool)[:, :, None]
    banded = np.zeros(passes.shape[:2], bool) if banded is None else np.array(banded)
    matched = Matched((job(),) * len(passes), (MOTOR, OTHER), passes, ~passes[:, :, 0] * 2,
                      banded, {})  # fmt: skip
    goods = Goods(np.arange(2), np.zeros(2, int), np.ones(1), np.ones(4), np.ones(4))
    planned = TruckPlan(goods, np.array(truck), 0.0, 1.0, np.zeros(2), np.zeros(0, bool))
    shelf = CounterStock(goods, np.array(counter), np.zeros(4), np.zeros(4))
    usual = {"trucks": 1, "days": 7, "lead_days": 10, "counter": counter_kept}
    return planned, shelf, matched, Terms(**(usual | terms))


def season(days, needs):
    zeros = np.zeros(len(days), int)
    return Arrivals(np.array(days), zeros, np.array(needs), zeros)


BOTH = [[True, True], [True, False], [False, False]]


def test_each_call_ends_in_one_way():
    given = setting(BOTH, truck=[1, 0, 2, 0], counter=[0, 0, 0, 0])
    found = run(season([0, 1, 2], [1, 1, 2]), *given)
    assert (found.first, found.short, found.none) == pytest.approx((1 / 3, 1 / 3, 1 / 3))
    assert sum(found[:5]) == pytest.approx(1)


def test_without_a_counter_a_used_motor_is_back_on_its_truck_after_the_lead_time():
    """Used on day 0, ordered on day 7 and on the truck on day 17; nothing is lost or doubled."""
    given = setting(BOTH, truck=[1, 0, 1, 0], counter=[0, 0, 0, 0], counter_kept=False)
    assert run(season([0, 16], [1, 1]), *given).first == 1 / 2
    assert run(season([0, 17], [1, 1]), *given).first == 1
    again = run(season([0, 17, 30, 31, 40, 60], [1] * 6), *given)
    assert again.first == 4 / 6 and again.short == 2 / 6 and again.counter == 0


def test_without_a_counter_a_load_lasts_longer_and_no_shelf_is_planned():
    terms = Terms(days=7, lead_days=3, counter=False)
    assert terms.load_days == 10 and Terms(days=7, lead_days=3).load_days == 7


def test_the_motor_that_serves_fewest_needs_goes_first():
    """Need 0 takes the second motor, so the first is left for need 1."""
    given = setting(BOTH, truck=[1, 1, 2, 0], counter=[0, 0, 0, 0])
    assert run(season([0, 0], [0, 1]), *given).first == 1


def test_a_motor_without_its_capacitor_or_band_fixes_nothing():
    assert run(season([0], [1]), *setting(BOTH, [1, 0, 0, 0], [0, 0, 0, 0])).short == 1
    wants = [[True, True], [True, True], [True, True]]
    without = setting(BOTH, [1, 0, 1, 0], [0, 0, 0, 0], wants)
    assert run(season([0], [1]), *without).first == 0
    assert run(season([0], [1]), *setting(BOTH, [1, 0, 1, 1], [0, 0, 0, 0], wants)).first == 1


def test_a_truck_is_filled_up_from_the_counter_as_far_as_that_reaches():
    calls = season([0, 3, 7, 14, 21], [1] * 5)
    plenty = run(calls, *setting(BOTH, [1, 0, 1, 0], [9, 0, 9, 0]))
    assert plenty.first == pytest.approx(4 / 5)  # the one on day 3 finds an empty truck
    assert plenty.refilled == 1
    one = run(calls, *setting(BOTH, [1, 0, 1, 0], [0, 0, 0, 0]))
    assert one.first == pytest.approx(1 / 5) and one.refilled == 0


def test_what_the_counter_gives_comes_back_after_the_lead_time():
    """One unit on the shelf: given on day 7, ordered, back on day 17, given again on day 21."""
    given = setting(BOTH, [1, 0, 1, 0], [1, 0, 1, 0])
    found = run(season([0, 7, 14, 21], [1] * 4), *given)
    assert found.first == pytest.approx(3 / 4)


def test_a_second_visit_takes_from_the_counter():
    given = setting(BOTH, [0, 1, 1, 0], [1, 0, 1, 0])
    found = run(season([0, 1], [1, 1]), *given)
    assert (found.counter, found.ordered) == (0.5, 0.5)
    with pytest.raises(InputError):
        run(season([], []), *given)


def erlang_b(servers, offered):
    """Share that finds all servers busy: Erlang's loss formula, by its recursion."""
    blocked = 1.0
    for number in range(1, servers + 1):
        blocked = offered * blocked / (number + offered * blocked)
    return blocked


def shelf_served(level, rate, lead, days=600_000):
    """Share of second visits that a counter with ``level`` units serves at once."""
    rng = np.random.default_rng(3)
    day = np.repeat(np.arange(days), rng.poisson(rate, days))
    given = setting(BOTH, [0, 0, 0, 0], [level, 0, 10**6, 0], lead_days=lead, days=366)
    return run(season(day, np.ones(len(day), int)), *given).counter


def test_a_shelf_serves_as_a_queue_does():
    """Second visits alone, Poisson, ordered one for one; who finds nothing does not wait for the
    shelf. That is Erlang's loss system, whatever the law of the lead time; Palm's theorem, by which
    levels are set, lets all wait and so serves fewer."""
    law = stats.poisson(0.03 * 120)
    level = int(base_stock(law, 0.8))
    served = shelf_served(level, 0.03, 120.0)
    assert served == pytest.approx(1 - erlang_b(level, 3.6), abs=0.01)
    assert served > fill_rate(law, level) >= 0.8


def stationary(seed):
    """Calls that come evenly at random over 1200 days, with three needs."""
    rng = np.random.default_rng(seed)
    day = np.sort(rng.integers(0, 1200, 2400))
    needs = tuple(job(nameplate__power=f"{w} W") for w in (240, 245, 250))
    days = np.datetime64("2021-01-01") + day
    return Calls(days, ("",) * len(day), needs, rng.choice(3, len(day), p=[0.6, 0.3, 0.1]))


@pytest.fixture(scope="module")
def calls():
    return stationary(7)


def test_the_last_year_is_held_out(calls):
    before, after = split(calls)
    assert len(before) + len(after) == len(calls)
    assert before.days.max() < after.days.min()
    assert (after.days.max() - before.days.max()).astype(int) == 365
    with pytest.raises(InputError):
        split(calls.part(calls.days < calls.days.min() + np.timedelta64(20, "D")))


def confirmed(calls, seed, repeats=20):
    """A plan for two motors that do by chance, made from all but the last year, and confirmed."""
    likely = np.array([[0.9, 0.5], [0.2, 0.8], [0.0, 0.6]])
    passes = np.random.default_rng(seed).random((3, 2, 40)) < likely[:, :, None]
    plain = np.ones((3, 2), int), np.zeros((3, 2), bool)
    matched = Matched(calls.needs, (MOTOR, OTHER), passes, *plain, {})
    terms = Terms(budget=700.0, trucks=2, days=7)
    before, after = split(calls)
    goods = goods_of(matched, terms)
    loads = sampled_loads(before, matched, goods, terms)
    planned = plan(loads, goods, terms.budget, terms.space)
    shelf = CounterStock(goods, np.full(len(goods.price), 99), *np.zeros((2, len(goods.price))))
    return confirm(before, after, matched, planned, shelf, terms, repeats)


def test_a_forecast_holds_in_years_that_the_plan_never_saw():
    """Stationary calls: the band of the forecast holds as often as it says, and does not lean.

    Nine years in ten would lie within; of these eight histories seven or so.
    """
    found = [confirmed(stationary(seed), seed) for seed in range(8)]
    inside = [one.forecast.low < one.replayed.mid < one.forecast.high for one in found]
    assert sum(inside) >= 6
    assert abs(np.mean([one.replayed.mid - one.forecast.mid for one in found])) < 0.015
    for one in found:  # the programme knows a load's calls beforehand
        assert one.forecast.mid < one.planned + 0.02 and one.unseen == 0


def test_the_same_seed_gives_the_same(calls):
    first, second = confirmed(calls, 1, repeats=2), confirmed(calls, 1, repeats=2)
    assert first.forecasts == second.forecasts and first.replays == second.replays


def test_a_drawn_season_has_as_many_calls_as_the_history(calls):
    matched = Matched(calls.needs, (MOTOR,), np.ones((3, 1, 4), bool), np.zeros((3, 1), int),
                      np.zeros((3, 1), bool), {})  # fmt: skip
    rng = np.random.default_rng(0)
    drawn = [sampled_season(calls, matched, Terms(), rng) for _ in range(30)]
    assert np.mean([len(one.day) for one in drawn]) == pytest.approx(2400 / 1200 * 365, rel=0.03)
    assert all((np.diff(one.day) >= 0).all() and one.day.max() < 365 + 7 for one in drawn)


def small_history(folder):
    """A few kinds of call over three years, as a file."""
    rows = [("date,voltage [V],frequency [Hz],power [hp],current [A],speed [rpm],capacitor [uF],"
            "rotation,rotation seen from,frame,shaft diameter [in],shaft length [in],"
            "body length [in],mounting,shaft position")]  # fmt: skip
    rng = np.random.default_rng(4)
    kinds = ("1/3,1.9,1075", "1/4,1.5,1075", "1/6,1,1075", "1/4,1.4,825")
    for day in np.sort(rng.integers(0, 1095, 400)):
        rest = "5,clockwise,lead end,48,1/2,4,6,belly band,down"
        kind = kinds[rng.integers(len(kinds))]
        rows.append(f"{np.datetime64('2022-01-01') + day},208-230,60,{kind},{rest}")
    path = folder / "calls.csv"
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    return path


def test_the_command_plans_a_stock_and_writes_it(tmp_path, capsys):
    path, motors = small_history(tmp_path), tmp_path / "motors.csv"
    head, *rows = (data_folder() / "catalogue.csv").read_text(encoding="utf-8").splitlines()
    motors.write_text("\n".join([head, *rows[::8]]) + "\n", encoding="utf-8")
    out = tmp_path / "out"
    words = ["--catalog", str(motors), "--budget", "600", "--json", "--out", str(out)]
    assert main(["stock", str(path), *words]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["plan"]["money"] <= 600
    assert found["plan"]["fixed"] <= found["plan"]["bound"] + 1e-4
    assert len(found["curve"]) == len(found["single_rating_curve"]) >= 5
    assert found["replay"]["forecast"]["low"] <= found["replay"]["forecast"]["high"]
    assert {one.name for one in out.iterdir()} == {
        "stock.txt", "stock.json", "load-list.csv", "curve.csv", "next.csv", "load-list.html",
        "load-list.pdf", "decision.csv", "summary.html", "summary.pdf", "curve.png", "replay.png",
    }  # fmt: skip
    assert "Truck load list" in (out / "load-list.html").read_text(encoding="utf-8")


def test_the_command_refuses_in_one_sentence(tmp_path, capsys):
    path = tmp_path / "calls.csv"
    path.write_text("date,power [hp]\n2024-01-01,1/3\n", encoding="utf-8")
    assert main(["stock", str(path)]) == 2
    assert "calls spanning at least" in capsys.readouterr().err
    assert main(["stock", str(path), "--budget", "-5"]) == 2


def test_the_command_writes_a_cross_reference(tmp_path, capsys):
    path = tmp_path / "plates.csv"
    head = "voltage [V],frequency [Hz],power [hp],current [A],speed [rpm]"
    path.write_text(f"{head}\n208-230,60,1/3,1.9,1075\n", encoding="utf-8")
    assert main(["counter", str(path), "--out", str(tmp_path / "out")]) == 0
    assert "ask the customer" in capsys.readouterr().out
    assert (tmp_path / "out" / "counter.html").exists()
    path.write_text(f"{head}\n208-230,60,5,30,1075\n", encoding="utf-8")
    assert main(["counter", str(path)]) == 3

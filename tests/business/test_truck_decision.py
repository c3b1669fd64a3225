"""Decisions about truck stock: incomplete calls, today's truck, savings, outages, printed lists."""

import io
import itertools
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader
from scipy import stats

from airover.app.cli import main
from airover.business import truck
from airover.business.counter import backorders, newsvendor, predictive
from airover.business.decision import ALL, EMPTY, SINGLE, TODAY, Carried, carried_in, decide
from airover.business.stock import Ground, Live, sampled_season, split, with_similar
from airover.business.truck import Terms
from airover.core.errors import InputError
from airover.core.files import data_folder
from airover.core.steps import finished
from airover.core.texts import ENGLISH, Writer
from airover.records.calls import Calls
from airover.records.importing import open_calls
from airover.records.sheets import sheet_of
from airover.reports import printed
from airover.reports.decision import data_said, decision_dict, decision_said, summary_blocks
from airover.reports.stock import load_blocks, load_page, money_curve, stock_dict, stock_text
from airover.selection.cover import FROM_CATALOG, Matched, match
from tests.jobs import HORSEPOWER, MOTOR, job, motor

THIRD, QUARTER = HORSEPOWER / 3, HORSEPOWER / 4
MOTORS = (
    motor(maker="North", model="one", price=80.0),
    motor(maker="North", model="two", price=85.0, ratings=(QUARTER,)),
    motor(maker="South", model="both", price=95.0, ratings=(QUARTER, THIRD), currents=(1.5, 1.9)),
    motor(maker="South", model="none", price=60.0),
)
# Motors one and two cover a half of the calls each, "both" covers all of these, and no motor covers
# the last need.
FITS = np.array([[1, 0, 1, 0], [0, 1, 1, 0], [0, 0, 0, 0]], bool)


def calls_of(days=900, count=450, shares=(0.5, 0.4, 0.1), seed=5):
    rng = np.random.default_rng(seed)
    day = np.datetime64("2022-03-01") + np.sort(rng.integers(0, days, count))
    needs = tuple(job(nameplate__power=f"{watts} W") for watts in (240, 245, 250))
    return Calls(day, ("",) * count, needs, rng.choice(3, count, p=shares))


def studied(calls=None, motors=MOTORS, fits=FITS, **terms):
    """A study with known matches, so that its decisions can be checked by hand."""
    calls = calls_of() if calls is None else calls
    passes = np.repeat(fits[:, :, None], 10, axis=2)
    rest = np.where(fits, 0, 2), np.zeros(fits.shape, bool), {}
    matched = Matched(calls.needs, motors, passes, *rest)
    live = Live(Ground(calls, *split(calls), matched))
    found = finished(live.planning(Terms(**({"budget": 230.0, "trucks": 1} | terms))))
    return finished(live.curving(found, 800.0))


@pytest.fixture(scope="module")
def found():
    return studied()


@pytest.fixture(scope="module")
def decision(found):
    return decide(found, Carried(np.array([1, 0, 0, 2]), ("XX-1",)))


# Incomplete calls


ODD = "Ticket #,Svc Date,Mtr Volts,HP,FLA,RPM,MFD,Rot\n"


def odd_calls(folder, count=40, days=40):
    """Calls as a service program exports them, without frame, shaft, body or mounting."""
    kinds = ("208-230,1/3,1.9,1075,7.5,CCWLE", "208-230,1/4,1.5,1075,5,CWLE", ",,1.5,1075,,")
    rows = [
        f"T-{900 + n},{np.datetime64('2025-05-01') + n * days // count},{kinds[n % 3]}"
        for n in range(count)
    ]
    path = Path(folder) / "export.csv"
    path.write_text(ODD + "\n".join(rows) + "\n", encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def export(tmp_path_factory):
    return odd_calls(tmp_path_factory.mktemp("calls"))


def test_calls_without_a_body_length_are_planned_for(export, capsys, tmp_path):
    catalog = data_folder() / "start" / "motors.csv"
    given = ["stock", str(export), "--catalog", str(catalog), "--trucks", "1", "--budget", "500"]
    assert main([*given, "--out", str(tmp_path)]) == 0
    said = capsys.readouterr().out
    assert "no need that a priced motor fits" not in said
    flat = " ".join(said.split())
    assert "filled in from the motors in the catalog" in flat and "body length" in flat
    assert "13 of 40 calls have too little nameplate data" in flat
    assert "The calls cover only 40 days" in flat
    assert {"summary.pdf", "summary.html", "load-list.pdf", "decision.csv"} <= {
        one.name for one in tmp_path.iterdir()
    }


def test_values_that_no_call_gives_come_from_the_catalog():
    bare = job(nameplate__frame="", nameplate__body_length=None)
    small, large = motor(model="small", frame="48"), motor(model="large", frame="56")
    filled = match([bare], (small, large), samples=60)
    assert filled.filled == {("frame", FROM_CATALOG): 1, ("body_length", FROM_CATALOG): 1}
    # The old frame is one of the two, so each motor fits in about a half of the samples.
    assert filled.chance.sum() == pytest.approx(1, abs=0.1) and (filled.chance > 0.2).all()
    whole = match([job()], (small, large), samples=60)
    assert not whole.guessed and not whole.filled


def test_a_call_that_gives_a_value_is_preferred_to_the_catalog():
    bare = job(nameplate__body_length=None, nameplate__frame="")
    other = job(nameplate__body_length="5 in", nameplate__mounting=None)
    filled = match([bare, other], (MOTOR,), samples=20)
    assert filled.filled["body_length", "calls"] == 1
    assert all(source == "calls" for _, source in filled.filled)


def test_a_guess_from_the_catalog_widens_the_ranges():
    """The same chance of one half, as a guess about all calls and as chance for each call."""
    calls = calls_of(shares=(1.0, 0.0, 0.0))
    passes = np.zeros((3, 1, 200), bool)
    passes[0, 0, ::2] = True
    plain = Matched(calls.needs, (MOTOR,), passes, np.zeros((3, 1)), np.zeros((3, 1), bool), {})
    guessed = replace(plain, filled={("body_length", FROM_CATALOG): 900.0})

    def spread(matched):
        rng = np.random.default_rng(0)
        seasons = [sampled_season(calls, matched, Terms(), rng) for _ in range(40)]
        return np.std([passes[one.need, 0, one.sample].mean() for one in seasons])

    assert spread(guessed) > 3 * spread(plain)


def test_a_call_with_too_little_data_is_replaced_by_a_similar_one():
    needs = (job(), job(nameplate__power="1/4 hp"),
             job(nameplate__power="1/4 hp", nameplate__voltage=None, site__voltage=None),
             job(nameplate__phase=3))  # fmt: skip
    days = np.datetime64("2025-01-01") + np.arange(100)
    calls = Calls(days, ("",) * 100, needs, np.arange(100) % 4)
    matched = match(needs, (MOTOR,), samples=8)
    assert set(matched.refused) == {2, 3}
    replaced, count = with_similar(calls, matched)
    assert count == 25 and replaced.evidence == pytest.approx(0.75)
    assert np.bincount(replaced.need, minlength=4).tolist() == [25, 50, 0, 25]
    live = Live(Ground(replaced, *split(replaced), matched, count))
    found = finished(live.planning(Terms(trucks=1, budget=400.0)))
    assert found.outside == 25 and found.reach > 0.9
    means = np.mean(found.confirmed.replays, axis=0)
    ends = dict(zip(found.confirmed.replays[0]._fields, means, strict=True))
    assert ends["outside"] == pytest.approx(0.25, abs=0.05) and ends["none"] < 0.05
    said = " ".join(data_said(found, ENGLISH))
    assert (
        "25 of 100 calls have too little" in said
        and "25 of 100 calls are for motors that airover does not cover" in said
    )


def test_no_call_with_enough_data_is_an_error():
    needs = (job(nameplate__voltage=None, site__voltage=None),)
    days = np.datetime64("2025-01-01") + np.arange(60)
    calls = Calls(days, ("",) * 60, needs, np.zeros(60, int))
    with pytest.raises(InputError):
        with_similar(calls, match(needs, (MOTOR,), samples=4))


def test_a_history_of_less_than_two_years_is_used_with_wider_ranges():
    calls = calls_of(days=300, count=90)
    before, after = split(calls)
    assert len(before) + len(after) == 90 and after.days.min() > before.days.max()
    assert before.evidence == pytest.approx(300 / 730, abs=0.02)
    short = studied(calls)
    assert short.short and short.held_out_days <= 101
    twice = studied(calls_of(days=900, count=270))
    assert not twice.short
    wide, narrow = (one.confirmed.forecast for one in (short, twice))
    assert wide.high - wide.low > narrow.high - narrow.low
    with pytest.raises(InputError):
        split(calls_of(days=20, count=20))


# The decision


def test_today_is_read_from_any_table():
    text = "Bin;Description;Part no;How many\nA1;old;TEST-ONE;2\nA2;new;Example two;\nA3;;zz9;4\n"
    motors = (motor(maker="Example", model="test-one"), motor(maker="Example", model="two"))
    today = carried_in(sheet_of("truck.csv", text.encode()), motors)
    assert today.units.tolist() == [2, 0] and today.unknown == ("zz9",)
    with pytest.raises(InputError) as error:
        carried_in(sheet_of("truck.csv", b"a,b\n1,2\n"), motors)
    assert "column of catalog models" in ENGLISH.error(error.value)
    lines = carried_in(sheet_of("truck.csv", b"model,note\ntwo,x\ntwo,y\n"), motors)
    assert lines.units.tolist() == [0, 2]


def test_the_savings_are_the_second_visits_avoided(found, decision):
    base, best = decision.baseline, decision.recommended
    terms = found.terms
    assert (base.kind, best.kind, decision.single.kind) == (TODAY, ALL, SINGLE)
    assert base.motors == 1  # the other motor fits no call
    assert decision.unused == ("South none",) and decision.unknown == ("XX-1",)
    assert best.first.mid > base.first.mid
    assert decision.saved(best) == pytest.approx(best.avoided.mid * terms.second_visit)
    assert decision.hours(best) == pytest.approx(best.avoided.mid * terms.visit_hours)
    months = 12 * (best.plan.money - base.plan.money) / decision.saved(best)
    assert decision.payback(best) == pytest.approx(max(months, 0))
    fallen = decision.second_visits(base) - decision.second_visits(best)
    assert fallen == pytest.approx(best.avoided.mid)
    assert decision.calls_a_year == pytest.approx(365.25 / 2, rel=0.1)  # a call in two days


def test_twice_the_trucks_share_the_calls_and_cost_twice():
    two = decide(studied(trucks=2))
    assert two.baseline.kind == EMPTY and two.baseline.first.mid == 0
    assert two.invested(two.recommended) == pytest.approx(2 * two.recommended.plan.money)
    assert two.calls_a_year == pytest.approx(365.25 / 2, rel=0.1)


def test_a_truck_without_motors_is_the_baseline_and_saves_nothing(found):
    empty = decide(found).baseline
    assert empty.kind == EMPTY and empty.plan.money == 0 and empty.avoided.mid == 0


def test_one_motor_with_two_ratings_replaces_two(decision):
    """The plan carries "both" and drops "one", of which it covers every call."""
    best = decision.recommended
    assert best.plan.carried[2] > 0 and best.plan.carried[0] == 0
    (dropped,) = decision.dropped
    assert (dropped.name, dropped.today, dropped.planned) == ("North one", 1, 0)
    assert "South both, with 2 ratings, covers 100 %" in ENGLISH(dropped.why)
    assert decision.single.plan.carried[2] == 0
    assert best.avoided.mid > decision.single.avoided.mid


def test_the_recommended_truck_is_the_best_of_all_trucks(found, decision):
    """Replay every truck of up to four motors within the budget in the same seasons."""
    from airover.business.decision import _Replays

    replays = _Replays(found)
    price = found.goods.price
    best = 0.0
    for units in itertools.product(range(5), repeat=3):
        load = found.goods.with_parts(np.array(units), 0)
        if price @ load <= found.terms.budget:
            best = max(best, replays.first(replace(found.plan, units=load)).mean())
    ours = replays.first(found.plan).mean()
    assert best - 0.02 <= ours <= best + 0.02


def test_a_manufacturer_that_cannot_deliver_is_replaced(decision):
    outages = {one.maker: one for one in decision.outages}
    south = outages["South"]
    assert south.motors == decision.recommended.plan.carried[2]
    assert south.without.mid < south.replanned.mid < decision.recommended.first.mid + 0.02


def test_a_single_manufacturer_has_no_replacement():
    motors = tuple(replace(one, maker="Only") for one in MOTORS)
    said = decision_said(decide(studied(motors=motors)), ENGLISH)
    assert "no motors from other manufacturers" in " ".join(said["outage"])


def test_a_plan_stopped_early_is_still_a_good_load(found, monkeypatch):
    """On a busy machine, HiGHS may have found only an empty truck when the time is up."""
    solved = truck.optimize.milp

    def stopped(*given, **options):
        answer = solved(*given, **options)
        if not options["bounds"].lb.any():  # a search for a plan, not a given load
            answer.x, answer.fun, answer.status = 0 * answer.x, 0.0, 1
        return answer

    given = found.loads, found.goods, 400.0, 1.0
    best = truck.plan(*given)
    monkeypatch.setattr(truck.optimize, "milp", stopped)
    early = truck.plan(*given)
    assert early.money <= 400 and early.fixed > 0.9 * best.fixed
    plans = truck.curve(found.loads, found.loads, found.goods, [150.0, 300.0, 600.0], 1.0)
    assert [one.fixed for one in plans] == sorted(one.fixed for one in plans)


def test_progress_counts_up_to_the_end():
    passes = np.repeat(FITS[:, :, None], 10, axis=2)
    rest = np.where(FITS, 0, 2), np.zeros(FITS.shape, bool), {}
    calls = calls_of()
    live = Live(Ground(calls, *split(calls), Matched(calls.needs, MOTORS, passes, *rest)))
    planned = finished(live.planning(Terms(budget=230.0, trucks=1)))
    steps = list(live.curving(planned, 800.0))
    done = [one.done for one in steps]
    assert len(steps) >= 6 and done == sorted(done) and done[0] >= 0
    assert all(one.done < one.of for one in steps)


def test_every_item_of_the_stock_has_a_name(found):
    names = [ENGLISH.value(one) for one in found.names]
    assert len(names) == len(found.goods.price) and len(set(names)) == len(names)
    assert "belly band" in names[-1].lower()
    assert sum("uF" in one for one in names) == len(found.goods.sizes)


def test_a_curve_is_never_above_its_ceiling(found):
    assert found.ceiling == pytest.approx(0.9, abs=0.05)
    assert max(one.fresh for one in (*found.plans, *found.single)) <= found.ceiling + 1e-9
    axes = money_curve(found).axes[0]
    curves = [line.get_ydata() for line in axes.lines if len(line.get_ydata()) > 2]
    ceiling = axes.lines[0].get_ydata()[0]
    assert len(curves) == 2 and max(map(max, curves)) <= ceiling + 1e-6


@pytest.mark.parametrize("language, system", [("en", "US"), ("es", "SI")])
def test_the_summary_is_one_page_with_the_figures_of_the_decision(decision, language, system):
    writer = Writer(language, system)
    blocks = summary_blocks(decision, writer.for_print)
    reader = PdfReader(io.BytesIO(printed.pdf("Summary", blocks, writer.for_print)))
    assert len(reader.pages) == 1
    text = " ".join(reader.pages[0].extract_text().split())
    page = printed.page("Summary", blocks, writer.for_print)
    best = decision.recommended
    for figure in (f"{best.plan.money:,.0f}", f"{decision.saved(best):,.0f}", "South", "XX-1"):
        assert figure in text and figure in page
    assert "Band(" not in text and "{" not in text


def test_the_json_has_the_decision(found, decision):
    told = stock_dict(found, ENGLISH, decision)["decision"]
    assert told == decision_dict(decision, ENGLISH)
    kinds = [one["load"] for one in told["loads"]]
    assert kinds[0] == TODAY and kinds.count("recommended") == 1 and SINGLE in kinds


# The load list


def test_the_load_list_is_read_back_from_its_page_and_pdf(found):
    page = load_page(found, Writer("en", "US"))
    rows = [
        [re.sub("<[^>]+>", "", cell) for cell in re.findall(r"<td[^>]*>(.*?)</td>", row)]
        for row in re.findall(r"<tr[^>]*>(.*?)</tr>", page, re.DOTALL)
    ]
    rows = [row for row in rows if row]
    motors = {row[3]: row for row in rows if row[1].startswith("M")}
    carried = found.plan.carried
    assert len(motors) == (carried > 0).sum()
    both = [cell.replace("\u00a0", " ") for cell in motors["South both"]]
    assert int(both[2]) == carried[2]
    assert both[4:] == ["1/4 hp, 1/3 hp", "1075", "208-230", "7.5 µF"]
    parts = [row for row in rows if row[1].startswith("P")]
    assert sum(int(row[2]) for row in rows) == found.plan.units.sum() and parts
    writer = Writer().for_print
    pdf = PdfReader(io.BytesIO(printed.pdf("Load", load_blocks(found, writer), writer)))
    text = " ".join(pdf.pages[0].extract_text().split())
    for row in rows:
        for cell in row[1:]:
            assert " ".join(cell.split()) in text


# Inventory formulas


def test_inventory_formulas_agree_with_stockpyl():
    """Values of stockpyl 1.0.2 (MIT license), calculated separately.

    It requires sphinx 4.5, so it cannot be installed with the other development packages.
    """
    # newsvendor_poisson(holding_cost, stockout_cost, demand_mean)
    for holding, stockout, mean, level in (
        (5, 60, 3.2, 6), (1, 4, 20, 24), (18, 70, 6.5, 9), (0.18, 0.70, 50, 56),
    ):  # fmt: skip
        assert newsvendor(stats.poisson(mean), stockout, holding) == level
    # poisson_loss(x, mean)[0] and negative_binomial_loss(x, r, p)[0]
    for level, mean, loss in (
        (3, 2.5, 0.4131956096908743), (10, 7.2, 0.23728732311745382), (25, 18.0, 0.1134763392890612),
    ):  # fmt: skip
        assert backorders(stats.poisson(mean), level) == pytest.approx(loss, rel=1e-9)
    law = predictive(24, 730.0, 14.0)
    for level, loss in ((0, 0.4698630136986298), (1, 0.09773795718415601), (2, 0.0150767522)):
        assert backorders(law, level) == pytest.approx(loss, rel=1e-7)
    assert newsvendor(law, 60, 5) == 2 and newsvendor(law, 60, 20) == 1


def test_references_do_not_disturb_the_calls(export):
    calls = open_calls(export)
    assert len(calls) == 40 and calls.references[:2] == ("T-900", "T-901")
    assert calls.part(np.arange(40) >= 38).references == ("T-938", "T-939")


def test_a_shop_without_a_counter_is_told_how_long_a_load_must_last():
    found = studied(days=7, lead_days=3, counter=False)
    assert found.counter.money == 0 and not found.counter.level.any()
    decision = decide(found)
    assert decision.payback(decision.recommended, found.counter.money) == decision.payback(
        decision.recommended
    )
    said = " ".join(stock_text(found, Writer(), decision).split())
    assert "There is no counter stock." in said and "a load must last 10 days" in said
    assert "Each truck:" in said and "counter stock costs" not in said
    assert "do not include the counter stock" not in said

"""Life cost of motors that fit: what it is made of, what decides, what is offered."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airover.business.cost_options import BEST, LEAST, NEXT, choices, drivers
from airover.business.costs import NOT_DRAWN, PARTS, USUAL_BASIS, completed, term
from airover.business.life_cost import cheaper, chosen, difference, life_cost, recounted, spend
from airover.core.errors import InputError
from airover.core.texts import Writer
from airover.model.climate import Season
from airover.records.company import CostBasis
from airover.reports import cost as figures_cost
from airover.selection.answer import answer
from tests.jobs import HORSEPOWER, MOTOR, job, motor

ENGLISH = Writer("en")
DRAWS = 400
DEAR = motor(model="dear", price=240.0)
WARM = motor(model="unknown", insulation_class=None, price=60.0)
CHEAP_WORK = motor(model="work", price=20.0, capacitor=9e-6)
MOTORS = [motor(), DEAR, WARM, CHEAP_WORK, motor(model="no price", price=None)]
FOUND = answer(job(), MOTORS)
COSTED = life_cost(FOUND, samples=DRAWS)
TOTAL = spend(COSTED.plan).total
BY_NAME = {cost.candidate.case.motor.model: cost for cost in COSTED.costs}


def costed(*motors, samples=DRAWS, **basis):
    return life_cost(answer(job(), motors), CostBasis(**basis), samples=samples)


def changed(**changes):
    """Present values under a plan with other figures."""
    return spend(replace(COSTED.plan, **changes)).total


def test_every_priced_motor_that_fits_is_counted_and_the_others_are_named():
    assert set(BY_NAME) == {"test-1", "dear", "unknown", "work"}
    assert COSTED.unpriced == ("Example Motors T no price",)
    means = [cost.mean for cost in COSTED.costs]
    assert means == sorted(means)


def test_parts_add_up_to_the_whole_and_so_do_the_flows():
    rate = COSTED.plan.inputs["discount_rate"]
    for number, cost in enumerate(COSTED.costs):
        flows, years = COSTED.flows(number), np.arange(COSTED.horizon + 1)[:, None]
        np.testing.assert_allclose(cost.total, (flows / (1 + rate) ** years).sum(axis=0))
        np.testing.assert_allclose(cost.today, flows[0])
        assert cost.band.low < cost.mean < cost.band.high


def test_the_bill_of_the_first_day_by_hand():
    basis = {"labour_rate": "100 USD/h", "labour_hours": "2 h", "visit_price": "80 USD"}
    basis |= {"capacitor_price": "20 USD", "belly_band_price": "15 USD"}
    (one,) = costed(motor(), **basis).costs
    assert one.candidate.verdict == "fits"
    np.testing.assert_allclose(one.today, 90 + 200 + 80 + 20)
    (other,) = costed(motor(mounting=("belly band",), shaft_length=0.15), **basis).costs
    assert {check.name for check in other.candidate.having("adapt")} == {"mounting", "shaft length"}
    np.testing.assert_allclose(other.today, 90 + 250 + 80 + 20 + 15)


def test_a_fact_left_open_may_cost_a_second_visit():
    open_fact = BY_NAME["unknown"]
    assert len(open_fact.candidate.having("missing")) == 1
    apart = open_fact.parts["visits"] / BY_NAME["dear"].parts["visits"]
    np.testing.assert_allclose(apart, 1.1)


def test_motors_alike_but_for_the_price_differ_by_it_and_its_like():
    one, other = BY_NAME["dear"], BY_NAME["test-1"]
    assert (one.today - other.today) == pytest.approx(150.0)
    energies = one.parts["energy of the motor"], other.parts["energy of the motor"]
    assert energies[0].mean() == pytest.approx(energies[1].mean(), rel=0.01)
    # two motors of one nameplate are not one motor: each is somewhere within its own tolerances
    assert 0.5 < np.corrcoef(energies)[0, 1] < 0.99
    assert difference(one, other).mid > 100


def test_the_energy_is_the_watts_over_the_hours():
    cost = BY_NAME["test-1"]
    watts = cost.candidate.case.band("power_in_w").mid
    assert cost.energy.mid == pytest.approx(watts * cost.yearly.hours / 1000, rel=0.06)
    price = COSTED.plan.inputs["energy_price"] * cost.yearly.energy.mean()
    rate = COSTED.plan.inputs["discount_rate"]
    annuity = (1 - (1 + rate) ** -15) / rate
    expected = float(np.mean(price * annuity))
    assert cost.parts["energy of the motor"].mean() == pytest.approx(expected, rel=0.02)


def test_a_life_that_nobody_knows_is_assumed_and_said():
    assert BY_NAME["unknown"].yearly.assumed[0] == "winding"
    said = {(one.name, one.motor): one for one in COSTED.assumed}
    assert "insulation class" in ENGLISH(said["winding life", "Example Motors T unknown"].why)
    assert all(np.isfinite(BY_NAME["unknown"].total))
    assert set(BY_NAME["unknown"].yearly.lives) == set(PARTS)


def test_experience_is_evidence_beside_a_computed_bearing_life():
    ball = motor(model="ball", bearings="ball", bearing_bore=0.012)
    known = {
        years: costed(ball, motor_life=years).costs[0] for years in ("3-6 years", "12-30 years")
    }
    few, many = (cost.yearly for cost in known.values())
    assert few.bearing == many.bearing and "bearing" not in few.assumed
    assert few.lives["bearing"].mid < many.lives["bearing"].mid
    between = sorted((many.bearing.mid, many.lives["bearing"].mid, (12 * 30) ** 0.5))
    assert between[1] == many.lives["bearing"].mid
    assert known["12-30 years"].untroubled > known["3-6 years"].untroubled


def test_a_bearing_of_unknown_kind_lasts_as_experience_says():
    unknown = costed(motor(bearings=None), motor_life="6-24 years").costs[0].yearly
    assert unknown.assumed == ("bearing",) and unknown.bearing is None
    assert unknown.lives["bearing"] == pytest.approx((6, 12, 24))
    one = costed(motor(bearings=None), motor_life="10 years").costs[0].yearly
    assert one.lives["bearing"] == pytest.approx((8, 10, 12.5))


def test_given_figures_are_given_and_the_rest_assumed():
    found = costed(motor(), energy_price="0.2 USD/kWh", horizon="10 years")
    origin = {one.name: one.origin for one in found.inputs}
    assert origin["energy price"] == origin["horizon"] == "given"
    assert origin["labour rate"] == "assumed"
    assert all(one.why for one in found.assumed)
    assert np.ptp(found.plan.inputs["energy_price"]) == 0 and found.horizon == 10


def test_the_job_brings_its_own_basis():
    told = job().model_copy(update={"cost": CostBasis(horizon="8 years")})
    assert life_cost(answer(told, [motor()]), samples=50).horizon == 8


def test_the_same_seed_gives_the_same_cost_and_the_catalog_s_order_does_not_matter():
    again = life_cost(answer(job(), MOTORS[::-1]), samples=DRAWS)
    for one, other in zip(COSTED.costs, again.costs, strict=True):
        assert one.name == other.name
        np.testing.assert_allclose(one.total, other.total, rtol=1e-9)


@settings(max_examples=20)
@given(st.floats(0, 500))
def test_more_price_costs_more_in_every_draw(more):
    assert np.all(changed(price=COSTED.plan.price + more) >= TOTAL + more - 1e-6)


@settings(max_examples=20)
@given(
    st.sampled_from([n for n in USUAL_BASIS if n not in (*NOT_DRAWN, "discount_rate")]),
    st.floats(1, 3),
)
def test_no_dearer_input_makes_anything_cheaper(name, factor):
    given_now = COSTED.plan.inputs
    gained = -np.minimum(COSTED.plan.air, 0).sum(axis=0)  # energy that other air saves
    assert gained.max() < COSTED.plan.energy.sum(axis=0).min()
    dearer = changed(inputs={**given_now, name: given_now[name] * factor})
    assert np.all(dearer >= TOTAL - 1e-6)


@settings(max_examples=20)
@given(st.floats(1, 5))
def test_better_lives_never_cost_more_without_a_warranty(factor):
    none = np.zeros(len(COSTED.costs))
    longer = changed(life=np.minimum(COSTED.plan.life * factor, 1000), warranty=none)
    assert np.all(longer <= changed(warranty=none) + 1e-6)


def test_a_better_bearing_does_not_cost_more_on_the_whole():
    life = COSTED.plan.life.copy()
    life[:, PARTS.index("bearing")] *= 2
    now, better = changed(), changed(life=life)
    assert np.all(better.mean(axis=1) < now.mean(axis=1))


def test_a_longer_warranty_never_costs_more():
    longer = changed(warranty=COSTED.plan.warranty + 5)
    assert np.all(longer <= TOTAL + 1e-6) and np.any(longer < TOTAL - 1)


def test_hotter_hours_cost_energy_and_life():
    few, many = (
        life_cost(FOUND, samples=DRAWS, season=Season(*np.array([[30.0, 35.0], [h, h], [1.1, 1.1]]), 38.0))
        for h in (300.0, 1200.0)
    )  # fmt: skip
    few, many = ({cost.name: cost for cost in one.costs}[MOTOR.name] for one in (few, many))
    assert many.energy.mid == pytest.approx(4 * few.energy.mid, rel=1e-6)
    assert many.untroubled < few.untroubled


def test_more_air_than_before_is_credited_and_less_is_charged():
    slow, fast = motor(speed_rpm=1050.0), motor(speed_rpm=1110.0, model="fast")
    extra = {c.candidate.case.motor.model: c.yearly.air.mean() for c in costed(slow, fast).costs}
    assert extra["test-1"] > 0 > extra["fast"]


@pytest.mark.parametrize(
    ("fitted", "made", "months"),
    [(12.0, 18.0, 12.0), (24.0, 18.0, 12.0), (None, 18.0, 12.0), (12.0, None, 12.0), (None,) * 3,
     (12.0, 3.0, 0.0)],
)  # fmt: skip
def test_the_shorter_of_two_warranties_counts(fitted, made, months):
    shown = motor(warranty_from_installation=fitted, warranty_from_manufacture=made)
    assert term(shown) == months


def test_refusals():
    with pytest.raises(InputError, match="life-cycle cost: no motor that fits has a price"):
        costed(motor(price=None))
    with pytest.raises(
        InputError,
        match="cost: the prices entered for this job are in EUR, but the catalog's prices are in USD",
    ):
        costed(motor(), visit_price="80 EUR")
    with pytest.raises(InputError, match="cost energy price is missing.*amounts in EUR"):
        costed(motor(currency="EUR"), visit_price="80 EUR")


def test_a_whole_basis_in_another_currency_is_taken():
    texts = {n: t.replace("USD", "EUR") for n, t in USUAL_BASIS.items()}
    assert completed(CostBasis(**texts), "EUR").currency == "EUR"


def test_drivers_have_the_greatest_swing_first_and_move_about_the_base():
    found = drivers(COSTED)
    swings = [one.swing for one in found.drivers]
    assert swings == sorted(swings, reverse=True) and swings[0] > 0
    one, other = COSTED.costs[:2]
    assert (found.first, found.second) == (one.name, other.name)
    assert found.base == pytest.approx(one.mean - other.mean)
    price = next(d for d in found.drivers if ENGLISH(d.name) == f"price of {one.name}")
    assert price.at_low < found.base < price.at_high
    assert drivers(costed(motor(), samples=50)) is None


def test_the_driver_of_a_number_moves_it_by_a_fifth_and_of_a_range_to_its_ends():
    found = drivers(costed(motor(), DEAR, labour_rate="100 USD/h", visit_price="50-70 USD"))
    ends = {
        ENGLISH(one.name): (ENGLISH.value(one.low), ENGLISH.value(one.high))
        for one in found.drivers
    }
    assert ends["labor rate"] == ("80 USD/h", "120 USD/h")
    assert ends["trip charge"] == ("50 USD", "70 USD")
    assert "lost cooling" not in ends
    fewer, more = ends["running hours"]
    hours = [float(one.removesuffix(" h per year").replace(",", "")) for one in (fewer, more)]
    assert hours[1] / hours[0] == pytest.approx(1.25 / 0.75, rel=2e-3) and 500 < hours[0] < 3000


def test_the_answer_s_first_motor_is_recommended_and_what_another_saves_is_said():
    found = choices(COSTED)
    best, cheapest = FOUND.candidates[0].case.motor.name, COSTED.costs[0]
    assert found.recommended.cost.name == best == MOTOR.name != cheapest.name
    assert found.recommended.roles == (BEST,)
    assert 2 <= len(found.options) <= 3
    apart = ENGLISH.money(found.recommended.cost.mean - cheapest.mean, "USD", 2)
    assert ENGLISH(found.reason).startswith(f"Choose the {best}")
    assert f"The {cheapest.name} costs {apart} less on average" in ENGLISH(found.reason)
    assert any("without a price" in ENGLISH(words) for words in found.not_included)


def test_where_the_recommended_motor_has_no_price_the_least_cost_stands_in():
    """A motor one size up is cheap and priced; the right size has none."""
    larger = motor(model="larger", ratings=(HORSEPOWER / 2,), currents=(2.7,))
    found = costed(motor(price=None), larger)
    assert found.recommended == MOTOR.name and found.unpriced == (MOTOR.name,)
    assert choices(found).recommended.cost.name == larger.name
    assert BEST not in choices(found).recommended.roles


def test_a_plain_saving_is_told_with_its_numbers():
    found = choices(costed(motor(), motor(model="far dearer", price=2000.0)))
    assert found.decides and found.probability > 0.95 and found.difference.high < 0
    told = ENGLISH(found.reason)
    assert "far dearer" in told and "The probability that it is cheaper is 100 %." in told
    assert [option.roles for option in found.options][1] == (NEXT,)
    assert LEAST in found.recommended.roles


def pair(first, second):
    """Two motors that fit, with these totals and nothing else."""
    costs = (BY_NAME["test-1"], BY_NAME["dear"])
    totals = zip(costs, (first, second), strict=True)
    made = tuple(replace(cost, parts={"motor": total}) for cost, total in totals)
    return choices(replace(COSTED, costs=made))


def test_near_a_half_the_difference_decides_nothing():
    first, second = np.random.default_rng(0).normal([[1000.0], [1030.0]], 150.0, (2, 10_000))
    found = pair(first, second)
    # normals: the probability is that of 30 over 212, 0.556
    assert found.probability == pytest.approx(0.556, abs=0.02) and not found.decides
    assert "No other motor is clearly cheaper" in ENGLISH(found.reason)
    assert "costs 30 USD more" in ENGLISH(found.reason)


def test_a_sure_difference_of_next_to_nothing_decides_nothing():
    first = np.random.default_rng(0).normal(1000.0, 100.0, 500)
    small, plain = pair(first, first + 5.0), pair(first, first + 25.0)
    assert small.probability == plain.probability == 1.0
    assert not small.decides and "No other motor is clearly cheaper" in ENGLISH(small.reason)
    assert plain.decides and "less than the" in ENGLISH(plain.reason)


def test_a_saving_in_eight_of_ten_samples_decides_nothing():
    """The least of many estimates is often the least by luck: it takes nine of ten."""
    rng = np.random.default_rng(0)
    for gap, clear in ((126.0, False), (360.0, True)):  # 0.6 and 1.7 standard deviations of 212
        first, second = rng.normal([[1000.0 + gap], [1000.0]], 150.0, (2, 10_000))
        found = pair(first, second)
        assert found.decides == clear
        assert ("a lower cost matters more" in ENGLISH(found.reason)) == clear


def rare(usual: float, in_few: float, share: float):
    """Totals of which a ``share`` is ``in_few``, the others ``usual``."""
    return np.where(np.arange(1000) < 1000 * share, in_few, usual)


def test_more_often_cheaper_yet_dearer_on_average_is_told_as_it_is():
    """The recommended fits as it is; the other, with work, has the lower mean but seldom wins."""
    plain, work = replace(BY_NAME["test-1"]), BY_NAME["work"]
    often = replace(plain, parts={"motor": rare(1000.0, 3600.0, 0.08)})  # mean 1208
    other = replace(work, parts={"motor": np.full(1000, 1100.0)})
    found = choices(replace(COSTED, costs=(other, often)))
    assert found.recommended.cost is often and found.decides
    assert found.probability == pytest.approx(0.92)
    told = ENGLISH(found.reason)
    assert "would cost 110 USD less on average" in told
    assert "the probability that it is more expensive is 92 %" in told
    assert "less than the" not in ENGLISH(found.reason)
    dearer = replace(plain, parts={"motor": rare(1200.0, 1000.0, 0.08)})
    found = choices(replace(COSTED, costs=(other, dearer)))
    words = "would cost 84 USD less, and the probability that it is cheaper is 92 %"
    assert words in ENGLISH(found.reason)


def test_less_on_average_yet_seldom_cheaper_is_told_as_it_is():
    found = pair(rare(1000.0, -600.0, 0.08), np.full(1000, 980.0))  # mean 872
    assert found.decides and found.probability == pytest.approx(0.08)
    words = "on average 110 USD less than the {0}. The probability that the {0} is cheaper is 92 %."
    assert words.format("Example Motors T dear") in ENGLISH(found.reason)
    found = pair(rare(900.0, 1100.0, 0.08), np.full(1000, 1000.0))
    words = (
        "84 USD less than the Example Motors T dear. The probability that it is cheaper is 92 %."
    )
    assert words in ENGLISH(found.reason)


@pytest.mark.parametrize("lasting", [{}, {"horizon": "8 years"}, {"motor_life": "4 years"}])
def test_counting_again_is_counting_anew(lasting):
    """Another basis on the same year of weather: each draw as if all had been worked."""
    other = CostBasis(energy_price="0.3 USD/kWh", **lasting)
    again, anew = recounted(COSTED, other), life_cost(FOUND, other, samples=DRAWS)
    assert [one.name for one in again.costs] == [one.name for one in anew.costs]
    for one, same in zip(again.costs, anew.costs, strict=True):
        np.testing.assert_array_equal(one.total, same.total)
        assert one.yearly.lives == same.yearly.lives and one.failures == same.failures
    assert (again.inputs, again.basis) == (anew.inputs, anew.basis)
    back = recounted(again, FOUND.job.cost)
    np.testing.assert_array_equal(back.costs[0].total, COSTED.costs[0].total)
    with pytest.raises(InputError, match="EUR"):
        recounted(COSTED, CostBasis(visit_price="80 EUR"))


def test_what_is_open_is_said_where_nothing_fits_as_it_is():
    found = choices(costed(CHEAP_WORK, motor(model="more", capacitor=9e-6, price=400.0)))
    assert found.recommended.cost.candidate.verdict == "fits with work"
    assert found.reason.values["take"].key == "cost.take.settled"
    assert CHEAP_WORK.name in ENGLISH(found.reason)


def test_the_only_motor_is_said_to_be_the_only_one():
    found = choices(costed(motor(), lost_cooling="200 USD"))
    assert len(found.options) == 1 and found.other is found.probability is None
    assert "only motor" in ENGLISH(found.reason)
    assert not any("without cooling" in ENGLISH(words) for words in found.not_included)


def test_money_is_shown_with_what_it_means():
    shown = [ENGLISH.money(x, "USD") for x in (1766.2, 86.04, 12345.0, 0.1234)]
    assert shown == ["1,770 USD", "86 USD", "12,300 USD", "0.123 USD"]


def test_the_plan_of_some_motors_gives_their_costs():
    seeded = replace(COSTED.plan, seed=7)
    assert chosen(seeded, (2, 0)).seed == 7  # the same samples of what happens
    part = spend(chosen(COSTED.plan, (2, 0))).total
    np.testing.assert_array_equal(part[0], COSTED.costs[2].total)
    np.testing.assert_array_equal(part[1], COSTED.costs[0].total)


def texts(figure):
    return [text.get_text() for axes in figure.axes for text in axes.texts]


def inside(figure) -> bool:
    """Whether every text of the picture lies on its paper."""
    figure.canvas.draw()
    paper = figure.bbox
    boxes = [t.get_window_extent() for axes in figure.axes for t in axes.texts]
    return all(paper.x0 <= b.x0 and b.x1 <= paper.x1 and b.y1 <= paper.y1 for b in boxes)


def test_no_motor_that_fits_is_refused_in_one_sentence():
    with pytest.raises(InputError, match="life-cycle cost: no motor fits"):
        costed(motor(poles=4, speed_rpm=1600.0))


def test_makers_differ_by_half_of_the_variance_of_a_life():
    ball = {"bearings": "ball", "bearing_bore": 0.012}
    found = costed(motor(model="a", **ball), motor(model="b", **ball), samples=4000)
    logs = np.log(found.plan.life[:, PARTS.index("bearing")])
    assert np.corrcoef(logs)[0, 1] == pytest.approx(0.5, abs=0.05)
    np.testing.assert_allclose(*np.quantile(logs, (0.05, 0.95), axis=1).T, rtol=0.03)


def test_the_picture_of_costs_says_every_part():
    figure = figures_cost.life_cost(COSTED)
    said = " ".join(texts(figure))
    assert said.count("energy") == 3 and said.count("repairs") == 3 and said.count("today") == 3
    assert "[USD]" in figure.axes[0].get_xlabel() and figure.axes[0].get_ylabel()
    assert inside(figure)


def test_the_bars_of_costs_are_as_long_as_their_parts():
    figure = figures_cost.life_cost(COSTED)
    bars = [one for one in figure.axes[0].patches if one.get_width() > 0]
    rows = {}
    for bar in bars:
        rows.setdefault(round(bar.get_y(), 6), []).append(bar)
    assert len(rows) == min(len(COSTED.costs), figures_cost.MOST_MOTORS)
    for cost, (_, parts) in zip(COSTED.costs, sorted(rows.items()), strict=False):
        parts.sort(key=lambda one: one.get_x())
        ends = np.cumsum([one.get_width() for one in parts])
        np.testing.assert_allclose([one.get_x() for one in parts], [0.0, *ends[:-1]], atol=1e-6)
        assert ends[-1] == pytest.approx(cost.mean, rel=1e-6)
        assert parts[0].get_width() == pytest.approx(float(cost.today.mean()), rel=1e-6)


def test_the_table_of_costs_gives_probabilities_in_percent():
    table = figures_cost.options(COSTED.costs, "USD", COSTED.horizon)
    share = "probability of costing less than the first motor"
    assert table[share].iloc[0] == ""
    first, second = COSTED.costs[:2]
    assert table[share].iloc[1] == f"{100 * cheaper(second, first):.0f} %"
    assert table["probability of no failure"].iloc[0] == f"{100 * first.untroubled:.0f} %"
    far = replace(first, parts={name: 1e6 + part for name, part in first.parts.items()})
    assert figures_cost.options([far, first], "USD", 15)[share].iloc[1] == "100 %"


def test_the_inputs_shown_are_those_of_the_motors_that_are_shown():
    best = COSTED.costs[0]
    table = figures_cost.counted_with(COSTED, [best])
    said = " ".join(table.astype(str).to_numpy().ravel())
    others = {cost.name for cost in COSTED.costs} - {best.name}
    assert best.name in said and not any(name in said for name in others)
    assert len(table) == sum(one.motor in ("", best.name) for one in COSTED.inputs)


def test_the_picture_of_what_decides_names_both_ends_of_every_bar():
    found = drivers(COSTED)
    figure = figures_cost.decides(found)
    said = texts(figure)
    for one in found.drivers[: figures_cost.MOST_DRIVERS]:
        assert {ENGLISH.value(one.low), ENGLISH.value(one.high)} <= set(said)
    assert sum("is cheaper" in words for words in said) == 2
    assert "[USD]" in figure.axes[0].get_xlabel() and inside(figure)


def test_a_tie_counts_half():
    same = SimpleNamespace(total=np.ones(4))
    assert cheaper(same, same) == 0.5

"""Money, years and hours of work as people write them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from airover.core.errors import InputError
from airover.records.company import CostBasis, read_money
from airover.records.job import Job

WRITTEN = {
    "horizon": "12 years",
    "motor_life": "8-14 years",
    "energy_price": "0.12-0.16 USD/kWh",
    "labour_rate": "95 USD/h",
    "labour_hours": "1.5 h",
    "capacitor_hours": "45 min",
    "visit_price": "80 USD",
    "second_visits": "20-40 %",
    "discount_rate": "3 %",
    "capacitor_price": "18 USD",
    "belly_band_price": "15 USD",
    "lost_cooling": "150-300 USD",
}


def test_every_field_is_read_in_its_unit():
    basis = CostBasis(**WRITTEN)
    assert set(WRITTEN) == set(CostBasis.names())
    assert (basis.years, basis.currency) == (12, "USD")
    assert (basis.energy_price.low, basis.energy_price.high) == (0.12, 0.16)
    assert basis.capacitor_hours.mid == 0.75
    assert (basis.second_visits.low, basis.second_visits.high) == (0.2, 0.4)
    assert basis.discount_rate.mid == 0.03


def test_a_job_keeps_it_as_it_was_written():
    job = Job(name="test", cost=WRITTEN)
    again = Job.from_toml(job.to_toml())
    assert again.cost == job.cost
    assert 'energy_price = "0.12-0.16 USD/kWh"' in job.to_toml()


def test_nothing_given_is_nothing_known():
    assert CostBasis().currency == "" and CostBasis().years is None
    assert "[cost]" not in Job(name="test").to_toml()


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("1,250 EUR", 1250, 1250),
        ("90 to 120 EUR", 90, 120),
        (".5 EUR", 0.5, 0.5),
        ("90\u2013120 EUR", 90, 120),
    ],
)
def test_money(text, low, high):
    amount = read_money(text, "", "price")
    assert (amount.low, amount.high, amount.unit) == (low, high, "EUR")


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("energy_price", "0.16", "energy price: .0.16. is not accepted.*0.16 USD/kWh"),
        ("energy_price", "0.16 USD", "energy price: .0.16 USD. is not accepted"),
        ("energy_price", "0.16 USD/MWh", "energy price"),
        ("energy_price", "$0.16/kWh", "three|currency"),
        ("labour_rate", "95 usd/h", "labour rate"),
        ("labour_rate", "120-95 USD/h", "labour rate"),
        ("labour_rate", 95, "labour rate: 95 is not accepted"),
        ("visit_price", "80,5,0 USD", "visit price"),
        ("visit_price", "-80 USD", "visit price"),
        ("visit_price", "99999999 USD", "up to 10,000,000"),
        ("visit_price", "8" * 70 + " USD", "visit price"),
        ("horizon", "18 months", "horizon: .18 months. is not accepted. Enter one whole number"),
        ("horizon", "10-15 years", "horizon"),
        ("horizon", "50 years", "horizon"),
        ("horizon", "15", "horizon: .15. has no unit"),
        ("motor_life", "1 month", "motor life: .1 month. is not accepted. Enter at least 3 months"),
        ("discount_rate", "300 %", "discount rate"),
        ("second_visits", "0.3", "second visits: .0.3. has no unit"),
        ("labor_rate", "95 USD/h", 'Did you mean "labour_rate"'),
    ],
)
def test_bad_values_get_one_sentence(field, value, words):
    with pytest.raises(InputError, match=words) as caught:
        CostBasis(**{field: value})
    assert "\n" not in str(caught.value)


def test_two_currencies_are_refused():
    with pytest.raises(
        InputError, match="visit price: .80 EUR. is not accepted. Enter an amount in USD"
    ):
        CostBasis(energy_price="0.2 USD/kWh", visit_price="80 EUR")


@given(st.text(max_size=80), st.sampled_from(["", "h", "kWh"]))
def test_any_text_is_read_or_refused(text, per):
    try:
        amount = read_money(text, per, "price")
    except InputError as error:
        assert error.field == "price"
    else:
        assert 0 <= amount.low <= amount.high


def test_money_without_a_currency_has_that_of_the_other_money_or_is_asked():
    basis = CostBasis(energy_price=0.16, labour_rate="95 MXN/h", visit_price="$80-90")
    assert basis.energy_price.text == "0.16 MXN/kWh" and basis.visit_price.text == "80-90 MXN"
    assert Job.from_toml("[cost]\nvisit_price = 85\n", "USD").cost.visit_price.text == "85 USD"
    for money in (
        {"visit_price": 85},
        {"visit_price": 85, "labour_rate": "9 USD/h", "lost_cooling": "1 MXN"},
    ):
        with pytest.raises(InputError, match="currency"):
            CostBasis(**money)

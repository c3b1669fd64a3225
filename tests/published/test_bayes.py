"""Bayes' rule and information gain against textbook examples, through the kit's own engine."""

import numpy as np
import pytest

from airover.records.causes import Cause, Causes, FindingTable
from airover.service.cause import Evidence, entropy, information, likely, posterior

MITCHELL = "Mitchell, Machine Learning, 1997, section {}, from memory, recomputed"
# Mitchell's table 3.2, days of tennis: counts under yes (9 days) and no (5 days)
TENNIS = {
    "outlook": {"sunny": (2, 3), "overcast": (4, 0), "rain": (3, 2)},
    "temperature": {"hot": (2, 2), "mild": (4, 2), "cool": (3, 1)},
    "humidity": {"high": (3, 4), "normal": (6, 1)},
    "wind": {"weak": (6, 2), "strong": (3, 3)},
}
DAYS = np.array([9.0, 5.0])


def table(counts: dict) -> np.ndarray:
    """Chances of the states under yes and under no."""
    return np.array(list(counts.values())).T / DAYS[:, None]


def as_causes() -> Causes:
    """The days of tennis as two causes with four findings."""
    findings = {
        key: FindingTable(key, key, tuple(counts), table(counts), np.array([True, True]))
        for key, counts in TENNIS.items()
    }
    kinds = (Cause("yes", "yes", ()), Cause("no", "no", ()))
    return Causes(kinds, DAYS / DAYS.sum(), findings, "Mitchell")


def test_a_day_of_tennis(book):
    """Sunny, cool, high, strong: printed are .0053 for yes, .0206 for no, and .795."""
    seen = {"outlook": "sunny", "temperature": "cool", "humidity": "high", "wind": "strong"}
    evidence = [
        Evidence(key, np.array([float(state == one) for one in TENNIS[key]]), (), True)
        for key, state in seen.items()
    ]
    found = likely(as_causes(), evidence)
    assert [one.cause.key for one in found] == ["no", "yes"]
    source = MITCHELL.format("6.9.1")
    # printed to three digits
    book.agrees("probability of no tennis", found[0].chance, 0.795, within=1e-3, source=source)


@pytest.mark.parametrize(
    ("name", "printed", "within"),
    [  # printed to three digits behind the point; .2467 and .1518 are cut off
        ("outlook", 0.246, 0.004),
        ("humidity", 0.151, 0.006),
        ("wind", 0.048, 0.006),
        ("temperature", 0.029, 0.01),
    ],
)
def test_gain_of_an_attribute(book, name, printed, within):
    ours = information(DAYS / DAYS.sum(), table(TENNIS[name]))
    source = MITCHELL.format("3.4.1")
    book.agrees(f"gain of {name}, bit", ours, printed, within=within, source=source)


def test_entropy_of_the_days(book):
    source = MITCHELL.format("3.4.1")
    book.agrees("entropy of 9+, 5-, bit", entropy(DAYS / 14), 0.940, within=1e-3, source=source)


def test_a_screening_test(book):
    """1 % ill, 80 % of them and 9.6 % of the healthy test positive: printed is 7.8 %."""
    ours = posterior([0.01, 0.99], [[0.80, 0.096]])[0]
    source = (
        "Gigerenzer and Hoffrage, How to improve Bayesian reasoning without instruction, 1995, "
        "mammography problem, from memory, recomputed"
    )
    book.agrees(
        "probability of illness after a positive test", ours, 0.078, within=0.006, source=source
    )


def test_the_cab_problem(book):
    """85 green and 15 blue cabs, a witness right in 80 %: printed is .41."""
    ours = posterior([0.15, 0.85], [[0.8, 0.2]])[0]
    source = (
        "Tversky and Kahneman, Evidential impact of base rates, 1982, cab problem, from memory, "
        "recomputed"
    )
    book.agrees("probability that the cab was blue", ours, 0.41, within=0.01, source=source)

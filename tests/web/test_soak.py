"""The page on a slow network that loses connections, in short; `soak` is the long form."""

from .soak import soak

SECONDS = 10.0


def test_input_and_answer_agree_and_nothing_typed_is_lost(browser):
    found = soak(browser, SECONDS, seed=1)
    assert found.faults == []
    assert found.claims and found.cuts

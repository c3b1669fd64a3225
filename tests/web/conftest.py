"""One browser for all tests here."""

import pytest

from ..browser import started


@pytest.fixture(scope="session")
def browser():
    with started() as found:
        yield found

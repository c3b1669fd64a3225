"""One browser for the tests of a file."""

import pytest

from ..browser import started


@pytest.fixture(scope="module")
def browser():
    """A browser whose event loop ends with the file: other tests find none running."""
    with started() as found:
        yield found

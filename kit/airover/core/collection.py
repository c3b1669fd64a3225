"""Keep the garbage collector from delaying an answer."""

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def collection_postponed() -> Iterator[None]:
    """Return a context in which the garbage collector waits.

    A full collection searches everything that the process has loaded, which takes 0.1 s or more. It
    then follows the answer instead of delaying it.
    """
    if not gc.isenabled():  # the user has turned it off, or an outer call postpones it
        yield
        return
    gc.disable()
    try:
        yield
    finally:
        gc.enable()

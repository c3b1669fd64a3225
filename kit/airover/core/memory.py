"""Return free memory to the operating system."""

import ctypes
from contextlib import suppress


def return_memory() -> None:
    """Return memory that is no longer used to the system, where this is possible.

    The C library on Linux otherwise keeps it for later, several hundred MB after large calculations.
    """
    with suppress(AttributeError, OSError, TypeError):
        ctypes.CDLL(None).malloc_trim(0)

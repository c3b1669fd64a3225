"""Load the modules and the compiled code that the workers of a fleet need.

See `fleet_processes`. If numba is not installed, the import of this module fails.
"""

from airover.business import fleet
from airover.physics import compiled

__all__ = ["fleet"]
compiled.load()

"""Settings of all tests."""

import os

from hypothesis import settings

# At a desk every run looks at new cases; where a verdict hangs on it, at the same ones each time.
settings.register_profile("same", derandomize=True)
if os.environ.get("CI"):
    settings.load_profile("same")

"""Tests run the worksheets with the sample job, whatever job the user has there."""

import os
import tempfile

os.environ["AIROVER_STATE"] = tempfile.mkdtemp(prefix="airover-state-")

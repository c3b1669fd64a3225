"""``python -m airover`` is the ``airover`` command."""

import sys

from airover.app.cli import main

sys.exit(main())

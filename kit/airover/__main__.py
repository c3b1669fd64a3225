"""``python -m airover`` is the ``airover`` command."""

import sys

from airover.cli import main

sys.exit(main())

"""Run the ``airover`` command with ``python -m airover``."""

import sys

from airover.app.cli import main

sys.exit(main())

"""Table of the slowest tests, which ``python3 kit test --slowest`` writes to the benchmark page."""

import datetime
import os
import platform
import re
import time
from collections import Counter
from pathlib import Path

PAGE = Path(__file__).parent / "bench" / "RESULTS.md"
TITLE, MOST = "## Slowest tests", 20
_SECTION = re.compile(rf"\n*^{TITLE}\n.*?(?=^## |\Z)", re.MULTILINE | re.DOTALL)


class Slowest:
    """Time of every test, including its fixtures [s], in a run with ``processes``."""

    def __init__(self, processes: int):
        self.processes, self.start, self.seconds = processes, time.monotonic(), Counter()

    def pytest_runtest_logreport(self, report):
        self.seconds[report.nodeid] += report.duration

    def pytest_sessionfinish(self):
        """Replace the table at the end of the benchmark page."""
        page = _SECTION.sub("\n\n", PAGE.read_text(encoding="utf-8"))
        PAGE.write_text(f"{page.rstrip()}\n\n{self.table()}\n", encoding="utf-8")

    def table(self) -> str:
        minutes = (time.monotonic() - self.start) / 60
        whole = sum(self.seconds.values())
        lines = [
            f"{TITLE}\n",
            f"`python3 kit test --slowest` wrote this table on {datetime.date.today()}.",
            f"{len(self.seconds)} tests took {minutes:.1f} min",
            f"(test processes: {self.processes}, processors: {os.cpu_count()},",
            f"Python {platform.python_version()}).",
            "The time of a test includes the fixtures that it was the first to use.\n",
            "| test | time [s] | share of all tests [%] |",
            "| --- | ---: | ---: |",
        ]
        for nodeid, seconds in self.seconds.most_common(MOST):
            name = nodeid.removeprefix("tests/").replace("|", r"\|")
            lines.append(f"| `{name}` | {seconds:.1f} | {100 * seconds / whole:.1f} |")
        return "\n".join(lines)

"""One line of the table: our time beside a peer's, and how far the two results lie apart."""

import time
from typing import NamedTuple


class Row(NamedTuple):
    """Times [s] for the same work; ``apart`` is the greatest relative difference of results."""

    what: str
    ours: float
    peer_name: str
    peer: float
    apart: float
    allowed: float

    @property
    def agrees(self) -> bool:
        return self.apart <= self.allowed

    def line(self) -> str:
        return (
            f"| {self.what} | {shown(self.ours)} | {self.peer_name} | {shown(self.peer)} "
            f"| {self.peer / self.ours:.3g} | {self.apart:.0e} |"
        )


HEAD = """| what | ours | peer | peer's time | peer / ours | results apart by |
| --- | ---: | --- | ---: | ---: | ---: |"""


def shown(seconds: float) -> str:
    return f"{seconds:.2f} s" if seconds >= 1 else f"{1000 * seconds:.3g} ms"


def timed(work, repeats: int = 1):
    """The shortest time [s] of several runs of ``work``, and what the last one returned."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        result = work()
        times.append(time.perf_counter() - start)
    return min(times), result

"""What an entrance is: good files, a call that reads one, and a call that works what was read."""

import shutil
from collections.abc import Callable
from pathlib import Path
from random import Random
from typing import NamedTuple

from airover.core.files import data_folder
from tests.fuzz.mutate import mutated
from tests.fuzz.rules import SECRET, Ending, judged

READING, WORKING = 2.0, 6.0  # s of processor time; a job with all motors takes 0.8 s on its own


class Entrance(NamedTuple):
    """``read`` a file of this ``name``; ``work`` what it gave one time in ``one_in``.

    ``seeds`` are good files. ``read`` gets the path of the file, ``work`` what was read and the
    folder it may write into; its answer is plain data. ``share`` of the cases, beside the others.
    ``make`` draws the file's bytes from the seeds, ``beside`` are other files by name,
    ``budget`` [s] is for reading alone.
    """

    name: str
    file: str
    seeds: tuple[bytes, ...]
    read: Callable[[Path], object]
    work: Callable[[object, Path], object] = lambda read, folder: None
    one_in: int = 1
    share: float = 1.0
    make: Callable[[Random, tuple[bytes, ...]], bytes] | None = None
    beside: tuple[tuple[str, bytes], ...] = ()
    budget: float = READING


def run(entrance: Entrance, seed: int, number: int, base: Path) -> tuple[Ending, bytes]:
    """Case ``number`` of ``entrance``: how it ended, and the file."""
    rng = Random(f"{seed}/{entrance.name}/{number}")
    content = made(entrance, rng)
    works = rng.random() * entrance.one_in < 1
    return run_content(entrance, content, works, base), content


def made(entrance: Entrance, rng: Random) -> bytes:
    """The bytes of one case."""
    if entrance.make is not None:
        return entrance.make(rng, entrance.seeds)
    return mutated(rng, rng.choice(entrance.seeds), entrance.seeds)


def run_content(entrance: Entrance, content: bytes, works: bool, base: Path) -> Ending:
    """The case whose file has this ``content``, in a fresh folder below ``base``."""
    folder = fresh(base)
    path = folder / entrance.file
    path.write_bytes(content)
    for name, other in entrance.beside:
        (folder / name).write_bytes(other)

    def case(folder: Path):
        read = entrance.read(path)
        return entrance.work(read, folder) if works else None

    return judged(case, folder, WORKING if works else entrance.budget)


def fresh(base: Path) -> Path:
    """An empty folder for one case; beside it stands one that no case names."""
    folder, beside = base / "case", base / SECRET
    if not beside.exists():
        beside.mkdir(parents=True)
        for name in ("roof-unit.toml", "half-plate.toml"):
            shutil.copy(data_folder() / "jobs" / name, beside)
        (beside / "logo.png").write_bytes(b"\x89PNG\r\n\x1a\n")
        (beside / "passwd").write_text("root:x:0:0\n")
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    return folder

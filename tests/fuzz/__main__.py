"""The long run: ``python -m tests.fuzz --cases 1000000 --seed 1``.

Each case is drawn from the seed, the entrance's name and its number, so any of them can be run
alone: ``--only "jobs, answered" --case 17``. What is done stands in ``--state``; a run that was
stopped goes on there. ``--page`` writes the figures as a page.
"""

import argparse
import json
import os
import sys
import tempfile
import time
import warnings
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from tests.fuzz.entrance import run
from tests.fuzz.entrances import table

BATCH = 100  # cases of one entrance at a time, of those that have a share of 1
MEMORY = 4_000_000_000  # bytes of addresses a process may take, so that a bomb is a finding


def main(argv=None) -> int:
    arguments = _parser().parse_args(argv)
    entrances = {one.name: one for one in table()}
    if arguments.case is not None:
        return _one(entrances[arguments.only], arguments.seed, arguments.case)
    if arguments.only:
        entrances = {arguments.only: entrances[arguments.only]}
    state = _state(arguments.state, arguments.seed)
    with tempfile.TemporaryDirectory(prefix="airover-state-") as folder:
        os.environ["AIROVER_STATE"] = folder  # not the job that the user has open
        _until_all_done(entrances, state, arguments)
    print(as_table(state["entrances"]))
    return 1 if any(one["findings"] for one in state["entrances"].values()) else 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description="Throw bad input.")
    parser.add_argument("--cases", type=int, default=10_000, help="of all entrances together")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", metavar="ENTRANCE", help="one entrance alone")
    parser.add_argument("--case", type=int, help="with --only: this one alone, and its file")
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--state", type=Path, metavar="JSON", help="where a run goes on")
    parser.add_argument("--page", type=Path, metavar="MD", help="where the figures go")
    return parser


def _state(path: Path | None, seed: int) -> dict:
    if path is not None and path.exists():
        state = json.loads(path.read_text())
        if state["seed"] == seed:
            return state
    return {"seed": seed, "seconds": 0.0, "entrances": {}}


def _until_all_done(entrances, state, arguments) -> None:
    """Batches of all entrances in turn, so that a run that is stopped has seen each of them."""
    whole = sum(one.share for one in entrances.values())
    wanted = {n: round(arguments.cases * one.share / whole) for n, one in entrances.items()}
    done = state["entrances"]
    with ProcessPoolExecutor(arguments.processes, initializer=_begin) as pool:
        while batches := _batches(entrances, wanted, done, state["seed"]):
            began = time.monotonic()
            for name, found in pool.map(batch, *zip(*batches, strict=True)):
                _add(done.setdefault(name, _nothing()), found)
            state["seconds"] += time.monotonic() - began
            _keep(state, arguments)


def _batches(entrances, wanted, done, seed) -> list[tuple]:
    """One batch of each entrance that has cases left: its name, the seed, first and last number."""
    found = []
    for name, one in entrances.items():
        start = done.get(name, _nothing())["cases"]
        end = min(start + max(round(BATCH * one.share), 5), wanted[name])
        if start < end:
            found.append((name, seed, start, end))
    return found


def _begin() -> None:
    warnings.simplefilter("error")
    try:
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    except ImportError:  # Windows has no such limit
        print("no limit of memory on this system", file=sys.stderr)


def batch(name: str, seed: int, start: int, end: int) -> tuple[str, dict]:
    """Cases ``start`` to ``end`` of one entrance: what was counted."""
    (entrance,) = (one for one in table() if one.name == name)
    found = _nothing()
    with tempfile.TemporaryDirectory(prefix="fuzz-") as folder:
        for number in range(start, end):
            ending, _ = run(entrance, seed, number, Path(folder))
            found["cases"] += 1
            found[ending.how] += 1
            found["slowest"] = max(found["slowest"], ending.seconds)
            if ending.finding:
                found["findings"] += 1
                found["told"][f"case {number}: {ending.finding}"] = 1
    return name, found


def _nothing() -> dict:
    return {"cases": 0, "accepted": 0, "refused": 0, "slowest": 0.0, "findings": 0, "told": {}}


def _add(whole: dict, part: dict) -> None:
    for name in ("cases", "accepted", "refused", "findings"):
        whole[name] += part[name]
    whole["slowest"] = max(whole["slowest"], part["slowest"])
    for told in part["told"]:
        reason = told.partition(": ")[2]
        if not any(one.endswith(reason) for one in whole["told"]):
            whole["told"][told] = 1
            print(told, flush=True)


def _keep(state: dict, arguments) -> None:
    cases = sum(one["cases"] for one in state["entrances"].values())
    print(f"{cases} cases, {state['seconds']:.0f} s", flush=True)
    if arguments.state is not None:
        draft = arguments.state.with_suffix(".draft")
        draft.write_text(json.dumps(state, indent=1))
        draft.replace(arguments.state)
    if arguments.page is not None:
        arguments.page.write_text(as_page(state, cases), encoding="utf-8")


def as_page(state: dict, cases: int) -> str:
    found = sum(one["findings"] for one in state["entrances"].values())
    return "\n".join((
        "# Bad input: figures of the long run", "",
        "Written by `python -m tests.fuzz --page tests/fuzz/RESULTS.md`; tests/fuzz/__init__.py says what",
        "is thrown and what has to hold. Times are processor time of the slowest case.", "",
        f"Seed {state['seed']}, {cases} cases, {found} findings, {state['seconds']:.0f} s.", "",
        as_table(state["entrances"]), "",
    ))  # fmt: skip


def as_table(entrances: dict) -> str:
    """The figures, one row for each entrance."""
    rows = ["| entrance | cases | accepted | refused | slowest | findings |",
            "| --- | ---: | ---: | ---: | ---: | ---: |"]  # fmt: skip
    for name, one in entrances.items():
        counts = " | ".join(str(one[column]) for column in ("cases", "accepted", "refused"))
        rows.append(f"| {name} | {counts} | {one['slowest']:.2f} s | {one['findings']} |")
    return "\n".join(rows)


def _one(entrance, seed: int, number: int) -> int:
    """One case alone: how it ended, and its file for a look."""
    with tempfile.TemporaryDirectory(prefix="fuzz-") as folder:
        ending, content = run(entrance, seed, number, Path(folder))
    file = Path(tempfile.gettempdir()) / f"airover-case-{entrance.file}"
    file.write_bytes(content)
    print(ending, file, sep="\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())

"""Saving: whole or not at all, one at a time, whoever is killed and whoever else saves."""

import multiprocessing
import os
import random
import time

import pytest

from airover.core import files
from airover.core.errors import InputError
from airover.core.files import write_bytes, write_files, write_text
from airover.records.job import Job, JobFile

KILLS = 1000
SIZE = 40_000  # bytes, some pages of a disk
BEGIN = multiprocessing.get_context("fork" if os.name == "posix" else "spawn")


def content(number: int) -> bytes:
    """Any mixture of two of these is none of them."""
    return f"{number:09d}\n".encode() * (SIZE // 10)


def saving(path, first: int) -> None:
    """Save one after the other for ever, as a process that nobody stops."""
    files.LEFT_BEHIND = 0.0
    for number in range(first, 10**9):
        write_bytes(path, content(number), "file")


def number_in(path) -> int:
    held = path.read_bytes()
    number = int(held[:9])
    assert held == content(number)
    return number


@pytest.mark.skipif(os.name == "nt", reason="a process starts too slowly there")
def test_a_thousand_kills_lose_nothing(tmp_path):
    path, draws = tmp_path / "job.toml", random.Random(20261125)
    write_bytes(path, content(0), "file")
    saved, within, longest = 0, 0, 0.012
    for _ in range(KILLS):
        before = number_in(path)
        process = BEGIN.Process(target=saving, args=(path, before + 1))
        process.start()
        time.sleep(draws.uniform(0.0, longest))
        process.kill()
        process.join()
        process.close()
        assert number_in(path) >= before
        done = number_in(path) - before
        saved += done
        longest *= 0.98 if done else 1.03  # as long as a save takes, on a busy machine too
        within += (tmp_path / ".job.toml.draft").exists()
    # It did save between the kills, and it was killed while it saved.
    assert saved > KILLS / 4 and within > KILLS / 20


def test_what_a_kill_left_behind_does_not_stay(tmp_path, monkeypatch):
    path, draft = tmp_path / "job.toml", tmp_path / ".job.toml.draft"
    draft.write_bytes(b"half")
    os.utime(draft, (0, 0))
    write_bytes(path, b"whole", "file")
    assert [one.name for one in tmp_path.iterdir()] == ["job.toml"]
    draft.write_bytes(b"of another one who saves now")
    monkeypatch.setattr(files, "PATIENCE", 0.05)
    with pytest.raises(InputError, match="another one has been saving it for long"):
        write_bytes(path, b"newer", "file")
    assert path.read_bytes() == b"whole" and draft.exists()


def adding(path, start, times: int) -> None:
    """Add one to the number in a file so often; try again where another was quicker."""
    start.wait()
    while times:
        seen = path.read_bytes()
        try:
            write_bytes(path, str(int(seen) + 1).encode(), "file", seen=seen)
        except InputError:
            continue
        times -= 1


def test_of_two_who_save_none_overwrites_the_other(tmp_path):
    path, start = tmp_path / "count", BEGIN.Event()
    path.write_bytes(b"0")
    both = [BEGIN.Process(target=adding, args=(path, start, 100)) for _ in range(2)]
    for one in both:
        one.start()
    start.set()
    for one in both:
        one.join()
    assert path.read_bytes() == b"200"


def test_two_who_save_the_same_job_are_told(tmp_path):
    path = tmp_path / "job.toml"
    Job(name="first").save(path)
    one, other = JobFile.read(path), JobFile.read(path)
    now = one.saved(Job(name="second"))
    with pytest.raises(InputError, match="job file: .*was changed by someone else"):
        other.saved(Job(name="third"))
    assert Job.read(path).name == "second"
    assert now.saved(Job(name="fourth")).job.name == Job.read(path).name == "fourth"


def test_a_read_only_file_is_not_replaced(tmp_path):
    path = tmp_path / "a.txt"
    path.write_text("old", encoding="utf-8")
    path.chmod(0o444)
    with pytest.raises(InputError, match="read-only"):
        write_text(path, "new", "out")
    with pytest.raises(InputError, match="read-only"):
        write_files(tmp_path, {"b.txt": "new", "a.txt": "new"}, "out")
    assert path.read_text(encoding="utf-8") == "old"
    assert [one.name for one in tmp_path.iterdir()] == ["a.txt"]


def test_files_of_one_job_appear_together_or_not_at_all(tmp_path):
    write_files(tmp_path, {"one.txt": "first", "two.txt": "first"}, "out")
    with pytest.raises(InputError):
        write_files(tmp_path, {"one.txt": "second", "two.txt": "\ud800"}, "out")
    assert {one.read_text() for one in tmp_path.iterdir()} == {"first"}

"""Saving: whole or not at all, one at a time, whoever is killed and whoever else saves.

At length: ``AIROVER_ROUNDS=1000 python -m pytest tests/core/test_files.py``
"""

import errno
import json
import multiprocessing
import os
import random
import signal
import sys
import time

import pytest

from airover.core import files
from airover.core.errors import InputError
from airover.core.files import finish_sets, write_bytes, write_files, write_text
from airover.records.job import Job, JobFile

KILLS = ROUNDS = int(os.environ.get("AIROVER_ROUNDS", "200"))
SIZE = 40_000  # bytes, some pages of a disk
BEGIN = multiprocessing.get_context("fork" if os.name == "posix" else "spawn")


def content(number: int) -> bytes:
    """Any mixture of two of these is none of them."""
    return f"{number:09d}\n".encode() * (SIZE // 10)


def saving(path, first: int) -> None:
    """Save one after the other for ever, as a process that nobody stops."""
    for number in range(first, 10**9):
        write_bytes(path, content(number), "file")


def number_in(path) -> int:
    held = path.read_bytes()
    number = int(held[:9])
    assert held == content(number)
    return number


@pytest.mark.skipif(os.name == "nt", reason="a process starts too slowly there")
def test_many_kills_lose_nothing(tmp_path):
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
        within += any(tmp_path.glob(".job.toml.*.draft"))
    # It did save between the kills, and it was killed while it saved.
    assert saved > KILLS / 4 and within > KILLS / 20


def test_what_a_kill_left_behind_does_not_stay(tmp_path):
    path, other = tmp_path / "job.toml", tmp_path / ".job.toml.20261130.toml.00000000.draft"
    for left in (".job.toml.0123abcd.draft", ".job.toml.0123abcd.old", ".job.toml.lock"):
        (tmp_path / left).write_bytes(b"half")
    other.write_bytes(b"of another file")
    write_bytes(path, b"whole", "file")
    assert sorted(tmp_path.iterdir()) == sorted([path, other])


def keeping(path, locked, ended) -> None:
    """Save for so long that others cannot."""
    with files._locked(path):
        locked.set()
        ended.wait()


@pytest.mark.parametrize("way", ["ends", "is killed"])
def test_a_lock_is_free_when_its_process_ends(way, tmp_path, monkeypatch):
    path, locked, ended = tmp_path / "job.toml", BEGIN.Event(), BEGIN.Event()
    path.write_bytes(b"whole")
    other = BEGIN.Process(target=keeping, args=(path, locked, ended))
    other.start()
    locked.wait()
    os.utime(tmp_path / ".job.toml.lock", (0, 0))  # by the clock, it was left long ago
    monkeypatch.setattr(files, "PATIENCE", 0.05)
    with pytest.raises(InputError, match="another one has been saving it for long"):
        write_bytes(path, b"newer", "file")
    assert path.read_bytes() == b"whole"
    ended.set() if way == "ends" else other.kill()
    other.join()
    write_bytes(path, b"newer", "file")
    assert [one.name for one in tmp_path.iterdir()] == ["job.toml"]


def test_a_file_system_without_locks_is_written_too(tmp_path, monkeypatch):
    def no_locks(number):
        raise OSError(errno.ENOLCK, "No locks available")

    monkeypatch.setattr(files, "_lock", no_locks)
    write_bytes(tmp_path / "job.toml", b"whole", "file", seen=b"")
    assert [one.name for one in tmp_path.iterdir()] == ["job.toml"]


def adding(path, start, times: int, late: float) -> None:
    """Add one to the number in a file so often; try again where another was quicker.

    The clock of this process is ``late`` seconds behind.
    """
    now = time.time
    time.time = lambda: now() - late
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
    both = [BEGIN.Process(target=adding, args=(path, start, ROUNDS, late)) for late in (0.0, 10.0)]
    for one in both:
        one.start()
    start.set()
    for one in both:
        one.join()
    assert path.read_bytes() == str(2 * ROUNDS).encode()
    assert [one.name for one in tmp_path.iterdir()] == ["count"]


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


# A fault at every step of a save

NAMES = ("proposal.pdf", "proposal.html", "offer.csv")
STEPS = {"open", "os.rename", "os.remove", "os.chmod", "fcntl.flock"}
PLACE = "customers"
SPACE = 50  # bytes of a file on a full disk


class Step:
    """Count the steps of a save, and do something at the step ``number``, or from there on."""

    def __init__(self, number: int, fault):
        self.number, self.fault = number, fault

    def __call__(self, event: str, given: tuple) -> None:
        if event in STEPS and (event == "fcntl.flock" or PLACE in str(given)):
            self.number -= 1
            if self.number == 0 or self.number < 0 and self.fault is make_read_only:
                self.fault()


def refuse() -> None:
    raise OSError(errno.EIO, os.strerror(errno.EIO))


def fill() -> None:
    """Leave no space: what is written from now on fails, and what needs no space does not."""
    import resource

    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (0, resource.RLIM_INFINITY))


def make_read_only() -> None:
    """From now on, nothing succeeds, as on a disk that the system takes out of use."""
    raise OSError(errno.EROFS, os.strerror(errno.EROFS))


def kill() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def customer(name: str) -> dict[str, bytes]:
    return {one: name.encode() * 10 for one in NAMES}


def saving_with_fault(folder, number: int, fault) -> None:
    """Save the files of another customer; exit 0 if saved, 3 if refused in a sentence."""
    step, sync = Step(number, fault), os.fsync

    def synced(descriptor):
        step("os.rename", (PLACE,))
        sync(descriptor)

    os.fsync = synced
    sys.addaudithook(step)
    try:
        write_files(folder, customer("new"), "out")
    except InputError:
        os._exit(3)
    os._exit(0)


@pytest.mark.skipif(sys.platform != "linux", reason="needs fork and audited locks")
@pytest.mark.parametrize(
    ("fault", "ending"), [(refuse, 3), (fill, 3), (make_read_only, 3), (kill, -9)]
)
def test_a_fault_at_any_step_mixes_no_customers(fault, ending, tmp_path, monkeypatch):
    state, endings, finished = tmp_path / f"state-of-{PLACE}", [], 0
    monkeypatch.setenv("AIROVER_STATE", str(state))
    for number in range(1, 100):
        folder = tmp_path / f"{PLACE}-{number}"
        write_files(folder, customer("old"), "out")
        process = BEGIN.Process(target=saving_with_fault, args=(folder, number, fault))
        process.start()
        process.join()
        endings.append(process.exitcode)
        shown = {one.name: one.read_bytes() for one in folder.iterdir() if one.name in NAMES}
        assert shown.items() <= customer("old").items() or shown.items() <= customer("new").items()
        assert endings[-1] in (0, ending)
        if fault in (refuse, fill):
            assert len(shown) == len(NAMES)
        recorded = any(state.glob("sets/*.json"))
        finish_sets()  # as at the next start
        now = {one.name: one.read_bytes() for one in folder.iterdir() if one.name in NAMES}
        assert now == customer("new") if recorded else now == (shown or customer("old"))
        assert now in (customer("old"), customer("new")) and not any(state.glob("sets/*.json"))
        finished += now != shown
        write_files(folder, customer("next"), "out")
        left = {one.name: one.read_bytes() for one in folder.iterdir()}
        assert left == customer("next")
        if process.exitcode == 0 and endings[-12:] == [0] * 12:
            break
    # A full disk stops only the steps before all drafts are written.
    assert (20 if fault is fill else 30) < number < 99, "all steps had their fault"
    assert endings.count(ending) > 10
    assert finished == 0 if fault in (refuse, fill) else finished > 3


def test_a_set_is_written_without_a_folder_for_its_record(tmp_path, monkeypatch):
    (tmp_path / "state").write_text("not a folder", encoding="utf-8")
    monkeypatch.setenv("AIROVER_STATE", str(tmp_path / "state"))
    write_files(tmp_path / "out", customer("new"), "out")
    assert {one.name: one.read_bytes() for one in (tmp_path / "out").iterdir()} == customer("new")


def test_a_record_of_a_folder_that_is_gone_stops_nothing(tmp_path, monkeypatch):
    monkeypatch.setenv("AIROVER_STATE", str(tmp_path))
    (tmp_path / "sets").mkdir()
    lost = [[str(tmp_path / "gone" / "draft"), str(tmp_path / "gone" / "a.txt")]]
    for name, content in {"a": json.dumps(lost), "b": "damaged"}.items():
        (tmp_path / "sets" / f"{name}.json").write_text(content, encoding="utf-8")
    finish_sets()
    write_files(tmp_path / "out", customer("new"), "out")
    assert {one.name: one.read_bytes() for one in (tmp_path / "out").iterdir()} == customer("new")


@pytest.mark.skipif(os.name == "nt", reason="needs a limit on the size of files")
def test_a_full_disk_leaves_the_old_file_and_nothing_else(tmp_path):
    def saves():
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (SPACE, SPACE))
        try:
            write_bytes(tmp_path / "job.toml", b"x" * 10 * SPACE, "file")
        except InputError as error:
            os._exit(3 if os.strerror(errno.EFBIG) in str(error) else 1)
        os._exit(0)

    import resource

    (tmp_path / "job.toml").write_bytes(b"old")
    process = BEGIN.Process(target=saves)
    process.start()
    process.join()
    assert process.exitcode == 3
    assert {one.name: one.read_bytes() for one in tmp_path.iterdir()} == {"job.toml": b"old"}

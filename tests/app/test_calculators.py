"""Answers from other processes: the same as here, within limits, and one stops no other."""

import os
import threading
import time

import numpy as np
import psutil
import pytest

from airover.app import ahead, calculators
from airover.app.calculators import Calculators
from airover.app.page import sample_job
from airover.core.errors import InputError
from airover.core.texts import Writer
from airover.reports.answer import answer_dict
from airover.selection.answer import answer

GIGABYTES = 3_000_000_000


@pytest.fixture(scope="module")
def two():
    found = Calculators(2, longest=120.0)
    yield found
    found.end()


@pytest.fixture
def in_two(two, monkeypatch):
    monkeypatch.setattr(calculators, "_calculators", two)
    return two


def test_an_answer_is_the_same_from_another_process(in_two):
    motors = calculators.motors_of_the_kit()
    for own in (motors, motors[:9]):
        there, here = calculators.answered(sample_job(), own)[0], answer(sample_job(), own)
        assert answer_dict(there, Writer()) == answer_dict(here, Writer())


def test_an_error_arrives_as_it_was_raised(in_two):
    job = sample_job()
    three_phase = job.model_copy(
        update={"nameplate": job.nameplate.model_copy(update={"phase": 3})}
    )
    with pytest.raises(InputError) as here:
        answer(three_phase, calculators.motors_of_the_kit())
    with pytest.raises(InputError) as there:
        calculators.answered(three_phase, calculators.motors_of_the_kit())
    assert Writer().error(there.value) == Writer().error(here.value)
    with pytest.raises(RuntimeError, match="ValueError: invalid literal"):
        in_two.run(int, "x")


@pytest.mark.parametrize(
    "task",
    [
        pytest.param((bytearray, GIGABYTES), marks=pytest.mark.skipif(
            not os.path.exists("/proc/self/limits"), reason="no limit on memory")),
        (os._exit, 9),
    ],
)  # fmt: skip
def test_too_much_memory_gets_a_sentence_and_the_next_answer_comes(task, two):
    with pytest.raises(InputError) as error:
        two.run(*task)
    assert Writer().error(error.value) == (
        "Answer: the calculation was stopped because it needs too much memory. Needed: a smaller "
        "catalog or file, or fewer people who use the page at the same time."
    )
    assert [two.run(abs, -number) for number in range(4)] == [0, 1, 2, 3]


def test_an_answer_that_takes_too_long_is_stopped_and_others_are_not():
    some, found = Calculators(2, longest=3.0), []

    def sleeps():
        with pytest.raises(InputError) as error:
            some.run(time.sleep, 1e6)
        found.append(Writer("es").error(error.value))

    asleep = threading.Thread(target=sleeps)
    asleep.start()
    assert some.run(abs, -1) == 1
    asleep.join()
    (told,) = found
    assert told.startswith(
        "Respuesta: el cálculo se detuvo después de 3 s. Se necesita: un catálogo"
    )
    assert some.run(abs, -2) == 2
    some.end()


def test_a_page_without_processes_says_so():
    none = Calculators(0, longest=0.1)
    with pytest.raises(InputError) as error:
        none.run(abs, -1)
    assert "could not start within 0.1 s" in Writer().error(error.value)


def test_a_result_that_is_no_longer_wanted_is_not_calculated():
    some, begun, order = Calculators(1), threading.Event(), []

    def works():
        begun.set()
        some.run(time.sleep, 1.0)

    def asks(number: int, is_overtaken) -> None:
        with calculators.unless(is_overtaken):
            try:
                order.append((number, some.run(abs, -number)))
            except calculators.Overtaken:
                order.append((number, None))

    busy = threading.Thread(target=works)
    busy.start()
    begun.wait()
    asked = []
    for number in range(1, 5):  # the second is overtaken while it waits, the others stay in order
        news = threading.Event()
        one = threading.Thread(target=asks, args=[number, news.is_set])
        one.start()
        while len(some._idle._waiting) < number:
            time.sleep(0.01)
        asked.append((one, news))
    asked[1][1].set()
    for one, _ in (*asked, (busy, None)):
        one.join()
    assert [one for one in order if one[1]] == [(1, 1), (3, 3), (4, 4)] and (2, None) in order
    some.end()


def test_processes_end(two):
    some = Calculators(1)
    number = some.run(os.getpid)
    assert psutil.pid_exists(number)
    some.end()
    assert not psutil.pid_exists(number)


def test_a_page_for_one_computer_reads_files_apart_and_a_worksheet_does_not(monkeypatch):
    monkeypatch.setattr(calculators, "_calculators", None)
    assert calculators.read(os.getpid) == os.getpid()
    calculators.read_apart()
    try:
        other = calculators.read(os.getpid)
        assert other != os.getpid() and other == calculators.read(os.getpid)
        assert calculators.calculates_here() and calculators.calculated(os.getpid) == os.getpid()
    finally:
        calculators.end()
    assert not psutil.pid_exists(other) and calculators.read(os.getpid) == os.getpid()


def test_a_simulation_is_fetched_when_more_than_its_ranges_is_used(in_two):
    found, more = calculators.answered(sample_job(), calculators.motors_of_the_kit(), (ahead.best,))
    here, other = answer(sample_job(), calculators.motors_of_the_kit()), found.candidates[1].case
    assert more is None and "_whole" not in vars(other.simulation)
    assert found.failed == here.failed and found.candidates[0].checks == here.candidates[0].checks
    assert other.current == here.candidates[1].case.current
    assert "_whole" not in vars(other.simulation)
    curves, same = (one.torque_curves for one in (other, here.candidates[1].case))
    assert all(map(np.array_equal, curves, same)) and "_whole" in vars(other.simulation)

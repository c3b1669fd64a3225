"""Start the processes that screen a fleet.

On Linux, all workers are copies of one process that has loaded the modules and the compiled code.
The process is started first, so that it loads them while the main process reads the tables. This
module imports nothing that takes long. On other systems, each worker loads everything itself.
"""

import os
import sys
import threading
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from multiprocessing import forkserver, get_context, parent_process

LOADED = ("pandas", "airover.business.fleet_loaded")  # modules
FORKS = sys.platform == "linux"
MOST_ON_WINDOWS = 61  # maximum number of processes Windows can wait for
# One thread per worker, because two would not be faster and could change the rounding of sums.
ONE_THREAD = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")


def worker_count(workers: int | None, windows: bool = os.name == "nt") -> int:
    """Return the number of processes to use, which is limited on Windows."""
    workers = workers or os.cpu_count() or 1
    return min(workers, MOST_ON_WINDOWS) if windows else workers


def begin() -> None:
    """Start the process from which the workers are copied, if there is one on this system."""
    if FORKS:
        with _one_thread():
            get_context("forkserver").set_forkserver_preload(list(LOADED))
            forkserver.ensure_running()


@contextmanager
def worker_pool(workers: int) -> Iterator[ProcessPoolExecutor]:
    """Yield a pool of processes, which end when this process ends for any reason."""
    begin()
    with _one_thread():
        context = get_context("forkserver" if FORKS else "spawn")
        pool = ProcessPoolExecutor(
            workers, context, initializer=begin_worker, initargs=(dict(os.environ),)
        )
        try:
            yield pool
        finally:
            pool.shutdown(cancel_futures=True)


def begin_worker(environment: dict[str, str]) -> None:
    """Set the environment variables of a worker, and end it when its parent process ends."""
    os.environ.clear()
    os.environ.update(environment)
    threading.Thread(target=_end_after_parent, daemon=True).start()


def _end_after_parent() -> None:
    parent_process().join()
    os._exit(1)


@contextmanager
def _one_thread() -> Iterator[None]:
    """Limit the processes started in this context to one thread for linear algebra."""
    before = {name: os.environ.get(name) for name in ONE_THREAD}
    os.environ.update(ONE_THREAD)
    try:
        yield
    finally:
        for name, value in before.items():
            os.environ.pop(name) if value is None else os.environ.update({name: value})

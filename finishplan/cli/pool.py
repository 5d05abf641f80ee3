"""Other processes for whole tasks, so that a second core is used. The files written are the same without them."""

import gc
import os
import signal
import threading
import warnings
from collections.abc import Callable, Iterator
from concurrent.futures import BrokenExecutor, Executor
from contextlib import contextmanager
from functools import partial
from typing import TypeVar

from finishplan.basics.signals import CODES

PROCESSES = 2
Result = TypeVar("Result")


@contextmanager
def pool() -> Iterator[Executor | None]:
    """A pool of processes until the end of the block, by the system's own way of starting them; None on one core."""
    if (os.cpu_count() or 1) < 2:
        yield None
        return
    from concurrent.futures import ProcessPoolExecutor

    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # of threads at a fork: the libraries' own, idle here
        processes = ProcessPoolExecutor(PROCESSES, initializer=_in_process)
        try:
            yield processes
        finally:
            # Whoever leaves by an error does not wait for a search that nobody needs any more.
            processes.shutdown(wait=False, cancel_futures=True)


def in_pool(processes: Executor | None, work: Callable[[], Result]) -> Callable[[], Result]:
    """Begin the work in the pool; the call gives its result, or does the work where there is no pool or no more."""
    if processes is None:
        return work
    try:
        future = processes.submit(work)
    except BrokenExecutor:  # by a task before
        return work

    def result() -> Result:
        try:
            return future.result()
        except BrokenExecutor:
            return work()

    return result


def _in_process() -> None:
    """Signals end a process of the pool as they end any other, and it ends with the one that began it, however that
    ends."""
    from multiprocessing import parent_process

    gc.freeze()  # what was there before the fork stays shared: looking through it for garbage would copy it

    for name in CODES:
        known = getattr(signal, name, None)
        # The parent's handlers came along with the fork; its temporary files are not ours to remove.
        if known is not None and signal.getsignal(known) != signal.SIG_IGN:
            signal.signal(known, signal.SIG_DFL)
    parent = parent_process()
    if parent is not None:
        threading.Thread(target=partial(_end_with, parent.sentinel), daemon=True).start()


def _end_with(sentinel: int) -> None:
    from multiprocessing.connection import wait

    wait([sentinel])
    os._exit(1)

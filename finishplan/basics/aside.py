"""Work done aside, in a copy of this process, where the system copies one in a moment; else when its result is wanted.

Threads would not do: what takes long here is Python, and Python runs in one thread at a time.
"""

import os
import select
import signal
import sys
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress

from finishplan.basics import signals

COPIES = sys.platform == "linux"
"""Elsewhere a copy may not be used (macOS) or cannot be had (Windows)."""
PATIENCE_S = 60.0
"""How long a silent copy is waited for before the work is done here."""
_PR_SET_PDEATHSIG = 1
"""Of prctl(2), linux/prctl.h: the signal that a process gets when the thread that made it ends."""


@contextmanager
def aside(work: Callable[[], bytes], patience_s: float = PATIENCE_S) -> Iterator[Callable[[], bytes]]:
    """Begin `work` and yield what gives its result when called; the copy is gone when the block is left.

    Where the copy fails, is silent for longer than patience_s, or there is none, the call does the work itself and
    raises what that raises. The copy ends with this process, however that ends.
    """
    begun = _begun(work) if COPIES else None
    if begun is None:
        yield work
        return
    copy, read = begun
    try:
        yield lambda: _received(read, patience_s) or work()
    finally:
        os.close(read)
        os.kill(copy, signal.SIGKILL)
        signals.copies.discard(copy)  # before its id may be another's
        os.waitpid(copy, 0)


def _begun(work: Callable[[], bytes]) -> tuple[int, int] | None:
    """A copy at work: its id, and where its result is read; None where the system has no more processes or pipes."""
    here, tie = os.getpid(), _tie()
    try:
        read, write = os.pipe()
    except OSError:
        return None
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", DeprecationWarning)  # of threads, which are the libraries' own, idle here
            copy = os.fork()
    except OSError:
        os.close(read)
        os.close(write)
        return None
    if not copy:
        tie()
        if os.getppid() != here:
            os._exit(0)
        os.close(read)
        _work(work, write)
    signals.copies.add(copy)
    os.close(write)
    return copy, read


def _tie() -> Callable[[], object]:
    """What a copy calls to be ended with this process; looked up here, lest a copy waits for an import of a thread."""
    with suppress(ImportError, OSError, AttributeError):
        import ctypes

        prctl = ctypes.CDLL(None).prctl
        return lambda: prctl(_PR_SET_PDEATHSIG, signal.SIGKILL, 0, 0, 0)
    return lambda: None


def _work(work: Callable[[], bytes], write: int) -> None:
    """In the copy: do the work, send its length and the result, and be gone."""
    try:
        signals.heed_no_more()
        result = work()
        with os.fdopen(write, "wb") as out:
            out.write(len(result).to_bytes(8, "big") + result)
    finally:
        os._exit(0)


def _received(read: int, patience_s: float) -> bytes | None:
    """The whole result, None where it does not come."""
    parts = []
    while select.select([read], [], [], patience_s)[0]:
        parts.append(os.read(read, 1 << 20))
        if not parts[-1]:
            break
    data = b"".join(parts)
    return data[8:] if len(data) >= 8 and int.from_bytes(data[:8], "big") == len(data) - 8 else None

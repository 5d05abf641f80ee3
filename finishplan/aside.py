"""Work done aside, in a copy of this process, where the system copies one in a moment; else when its result is wanted.

Threads would not do: what takes long here is Python, and Python runs in one thread at a time.
"""

import os
import select
import signal
import sys
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager

COPIES = sys.platform == "linux"
"""Elsewhere a copy may not be used (macOS) or cannot be had (Windows)."""
PATIENCE_S = 60.0
"""How long a silent copy is waited for before the work is done here."""


@contextmanager
def aside(work: Callable[[], bytes], patience_s: float = PATIENCE_S) -> Iterator[Callable[[], bytes]]:
    """Begin `work` and yield what gives its result when called; the copy is gone when the block is left.

    Where the copy fails, is silent for longer than patience_s, or there is none, the call does the work itself and
    raises what that raises.
    """
    if not COPIES:
        yield work
        return
    read, write = os.pipe()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # of threads, which are the libraries' own and idle here
        copy = os.fork()
    if not copy:
        os.close(read)
        _work(work, write)
    os.close(write)
    try:
        yield lambda: _received(read, patience_s) or work()
    finally:
        os.close(read)
        os.kill(copy, signal.SIGKILL)
        os.waitpid(copy, 0)


def _work(work: Callable[[], bytes], write: int) -> None:
    """In the copy: do the work, send its length and the result, and be gone."""
    try:
        signal.signal(signal.SIGINT, signal.SIG_DFL)
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

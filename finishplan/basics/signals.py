"""Leaving at once when told to (Ctrl-C, an end asked for by the system): no temporary file stays.

An exception would not do: raised while a module is imported it can hang the program, raised in a hook it is swallowed.
Only the command line heeds signals so; who imports the package keeps their own handlers. Nothing is imported here that
takes time, and nothing at all once a signal has come.
"""

import os
import signal
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from types import FrameType

CODES = {"SIGINT": 130, "SIGTERM": 143, "SIGHUP": 129}
"""128 and the signal's number (POSIX shells)."""

temporary: set[str] = set()
"""Paths of files not yet in place."""


class _State:
    """last_words: written to standard error on leaving. held: how many wish not to be stopped; pending: the exit code
    that waits for them."""

    last_words = b""
    held = 0
    pending = 0


def heed() -> None:
    """From now on a signal to end ends this process at once, with its code of CODES. One that is ignored stays so."""

    def leave(number: int, frame: FrameType | None) -> None:
        code = 128 + number
        if _State.held:
            _State.pending = code
        else:
            _leave(code)

    for name in CODES:
        known = getattr(signal, name, None)
        # What nohup ignores, or a program around this one handles, stays as it is; not every system has SIGHUP.
        if known is not None and signal.getsignal(known) in (signal.SIG_DFL, signal.default_int_handler):
            signal.signal(known, leave)


@contextmanager
def held() -> Iterator[None]:
    """A signal that comes meanwhile waits until the end of the block: for what takes a moment and is all or nothing."""
    _State.held += 1
    try:
        yield
    finally:
        _State.held -= 1
        if _State.pending and not _State.held:
            _leave(_State.pending)


def say_last(words: bytes) -> None:
    """What to write to standard error on leaving, to put a terminal right; b'' for nothing."""
    _State.last_words = words


def _leave(code: int) -> None:
    # No imports, no logging, no clean-up of others from here on: it may have come in the middle of any of them.
    for path in tuple(temporary):
        with suppress(OSError):
            os.unlink(path)  # noqa: PTH108  as few calls as can be
    if _State.last_words:
        with suppress(OSError):
            os.write(2, _State.last_words)
    os._exit(code)

"""What is being done, told as it goes to whoever listens in this thread; the listener may end it by raising."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar

Heard = Callable[[str], None]
# By thread, as the page works in several.
_listener: ContextVar[Heard | None] = ContextVar("listener", default=None)


@contextmanager
def listening(heard: Heard) -> Iterator[None]:
    """Within it, `heard` is called with each step, in plain words; what it raises ends the work."""
    token = _listener.set(heard)
    try:
        yield
    finally:
        _listener.reset(token)


def doing(what: str) -> None:
    """A step begins."""
    heard = _listener.get()
    if heard is not None:
        heard(what)

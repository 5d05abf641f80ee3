"""News of results, told to every page that listens."""

import asyncio
from collections.abc import AsyncIterator

END = ""
"""In a listener's queue: there will be no more news."""


class News:
    """Who listens for new results, and passing them on from the planning thread."""

    def __init__(self) -> None:
        self._listeners: set[asyncio.Queue[str]] = set()
        self._loop: asyncio.AbstractEventLoop | None = None

    def tell(self, stage: str) -> None:
        """Pass it on; may be called from any thread."""
        if self._loop is not None and not self._loop.is_closed():
            # Queues of asyncio may be touched from their own loop's thread alone.
            self._loop.call_soon_threadsafe(self._pass_on, stage)

    def _pass_on(self, stage: str) -> None:
        for queue in self._listeners:
            # A page that has stopped listening must not hold up the others.
            if not queue.full():
                queue.put_nowait(stage)

    def end(self) -> None:
        """Let go of all who listen."""
        self._pass_on(END)

    @property
    def listeners(self) -> int:
        return len(self._listeners)

    async def stream(self) -> AsyncIterator[str]:
        """Server-sent events (HTML standard, 9.2), a comment every 15 s so that a lost page is noticed."""
        # There is no loop before the server runs, and nobody to be told before the first page listens.
        self._loop = asyncio.get_running_loop()
        queue: asyncio.Queue[str] = asyncio.Queue(maxsize=64)
        self._listeners.add(queue)
        try:
            yield "retry: 2000\n\n"
            while True:
                try:
                    stage = await asyncio.wait_for(queue.get(), 15.0)
                    if stage == END:
                        return
                    yield f"event: stage\ndata: {stage}\n\n"
                except TimeoutError:
                    yield ": here\n\n"
        finally:
            self._listeners.discard(queue)

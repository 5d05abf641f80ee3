"""The hours of work: sessions in which hands may be busy; paint dries between them too. Times in ticks."""

from collections.abc import Iterator
from dataclasses import dataclass

FOREVER = 1 << 60


@dataclass(frozen=True)
class Hours:
    """Sessions of `length` ticks at the given `starts` (ascending), then one every `every` ticks after the
    last start.

    length None: one stretch without end from 0 on. Raises ValueError when sessions overlap.
    """

    length: int | None = None
    starts: tuple[int, ...] = (0,)
    every: int = 144_000

    def __post_init__(self) -> None:
        if self.length is None:
            return
        if self.length <= 0 or not self.starts or self.starts[0] < 0:
            raise ValueError("a session needs a length and a start from 0 on")
        gaps = [b - a for a, b in zip(self.starts, self.starts[1:], strict=False)] + [self.every]
        if min(gaps) < self.length:
            raise ValueError("a session starts before the one before it has ended")

    def window(self, number: int) -> tuple[int, int]:
        """Start and end of session `number` (from 0)."""
        if self.length is None:
            return 0, FOREVER
        known = len(self.starts) - 1
        start = self.starts[number] if number <= known else self.starts[-1] + (number - known) * self.every
        return start, start + self.length

    def index(self, time: int) -> int:
        """The first session that ends after `time`."""
        if self.length is None:
            return 0
        last = self.starts[-1]
        if time >= last + self.length:
            return len(self.starts) - 1 + (time - last - self.length) // self.every + 1
        return next(i for i, start in enumerate(self.starts) if start + self.length > time)

    def fit(self, time: int, work: int) -> int:
        """The earliest start from `time` on of `work` ticks that lie inside one session."""
        if self.length is None:
            return time
        number = self.index(time)
        start, end = self.window(number)
        if max(time, start) + work > end:
            start, end = self.window(number + 1)
        return max(time, start)

    def spend(self, time: int, work: int) -> int:
        """When `work` ticks of hand time from `time` on are used up if they may be broken off between sessions."""
        if self.length is None or work <= 0:
            return time + max(work, 0)
        number = self.index(time)
        while True:
            start, end = self.window(number)
            begin = max(time, start)
            if work <= end - begin:
                return begin + work
            work -= end - begin
            number += 1

    def open_between(self, begin: int, end: int) -> int:
        """Ticks of session time between two times."""
        if self.length is None:
            return max(0, end - begin)
        return sum(max(0, min(end, b) - max(begin, a)) for a, b in self.until(end))

    def until(self, end: int) -> Iterator[tuple[int, int]]:
        """The sessions that start before `end`."""
        number = 0
        while self.window(number)[0] < end:
            yield self.window(number)
            if self.length is None:
                return
            number += 1

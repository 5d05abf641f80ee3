"""The hours of work: sessions in which hands may be busy; paint dries between them too. Times in ticks."""

from dataclasses import dataclass
from functools import cached_property

FOREVER = 1 << 60


@dataclass(frozen=True)
class Hours:
    """Sessions of `length` ticks at the given `starts` (ascending), then one every `every` ticks after the last start.

    length None: one stretch without end from 0 on. setup: ticks of setting up and clearing away, half at either end of
    a session. over: ticks that each session may run over its length. Raises ValueError when sessions overlap or leave
    no room for work.
    """

    length: int | None = None
    starts: tuple[int, ...] = (0,)
    every: int = 144_000
    setup: int = 0
    over: int = 0

    def __post_init__(self) -> None:
        if self.length is None:
            return
        if self.length <= self.setup or not self.starts or self.starts[0] < 0:
            raise ValueError("an evening needs a start from 0 on, and more time than setting up and clearing away")
        # The last start counts too: after it a session comes every `every` ticks.
        gaps = [b - a for a, b in zip(self.starts, self.starts[1:], strict=False)] + [self.every]
        if min(gaps) < self.length + self.over:
            raise ValueError("an evening starts before the one before it has ended")

    @property
    def room(self) -> int | None:
        """Ticks of work that a session has, not run over; None: no end."""
        return None if self.length is None else self.length - self.setup

    @property
    def before(self) -> int:
        """Ticks of setting up."""
        # An odd tick goes before the work, so that both halves add up to the whole.
        return 0 if self.length is None else self.setup - self.setup // 2

    @property
    def behind(self) -> int:
        """Ticks of clearing away."""
        return 0 if self.length is None else self.setup // 2

    def window(self, number: int) -> tuple[int, int]:
        """From when to when there is work in session `number` (from 0)."""
        # Asked for at every coat timed. cached_property writes past the frozen dataclass; replace() starts anew.
        if (found := self._windows.get(number)) is None:
            found = self._windows[number] = self._window(number)
        return found

    @cached_property
    def _windows(self) -> dict[int, tuple[int, int]]:
        return {}

    def _window(self, number: int) -> tuple[int, int]:
        if self.length is None:
            return 0, FOREVER
        known = len(self.starts) - 1
        start = self.starts[number] if number <= known else self.starts[-1] + (number - known) * self.every
        return start + self.before, start + self.length + self.over - self.behind

    def index(self, time: int) -> int:
        """The first session whose work ends after `time`."""
        if self.length is None:
            return 0
        # A guess from the regular part, which the irregular starts before it may put too late or too early.
        number = max(0, (time - self.starts[-1]) // self.every + len(self.starts) - 1)
        while number and self.window(number - 1)[1] > time:
            number -= 1
        while self.window(number)[1] <= time:
            number += 1
        return number

    def fit(self, time: int, work: int) -> int:
        """The earliest start from `time` on of `work` ticks that lie inside one session."""
        if self.length is None:
            return time
        number = self.index(time)
        start, end = self.window(number)
        if max(time, start) + work > end:
            # One session on is enough: RunProblem refuses a coat that is longer than a session has room.
            start, end = self.window(number + 1)
        return max(time, start)

    def spend(self, time: int, work: int) -> int:
        """When `work` ticks of hand time from `time` on are used up if they may be broken off between sessions."""
        if self.length is None or work <= 0:
            # No work needs no session: the time itself, even where it lies between two.
            return time + max(work, 0)
        number = self.index(time)
        while True:
            start, end = self.window(number)
            begin = max(time, start)
            if work <= end - begin:
                return begin + work
            work -= end - begin
            number += 1

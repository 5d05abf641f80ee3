"""Things side by side: columns kept together, and lists read down one column before the next."""

from collections.abc import Sequence
from typing import Any

from reportlab.platypus import Flowable

from finishplan.sheets.look import MM, Look

Column = tuple[float, float, list[Any]]
"""Left edge, width, what stands in it."""

_KEEP = 0.45
"""Columns that reach over more than this share of a page may be cut in two there."""


class Columns(Flowable):  # type: ignore[misc]
    """Columns side by side, kept together while they fit on one page, else cut where the page ends."""

    def __init__(
        self,
        columns: Sequence[Column],
        page_depth: float,
        *,
        rule: Any = None,
        pad: float = 0.0,
    ) -> None:
        super().__init__()
        self.columns, self.page_depth, self.rule, self.pad = columns, page_depth, rule, pad
        self.width: float = max((x + w for x, w, _ in columns), default=0.0)
        self.height: float = 0.0

    def _height(self, width: float, stack: Sequence[Any]) -> float:
        return float(sum(f.wrapOn(None, width, 1e6)[1] + f.getSpaceAfter() for f in stack))

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        """As high as the highest column."""
        if not self.height:
            self.height = 2 * self.pad + max((self._height(w, stack) for _, w, stack in self.columns), default=0.0)
        return self.width, self.height

    def split(self, available_width: float, available_height: float) -> list[Any]:
        """Nothing while the whole fits on a page of its own, else the part that fits here and the rest."""
        height = self.wrap(available_width, available_height)[1]
        if height <= self.page_depth or available_height < _KEEP * self.page_depth:
            return []
        now: list[Column] = []
        later: list[Column] = []
        for x, width, stack in self.columns:
            here, rest = self._cut(width, stack, available_height - 2 * self.pad)
            now.append((x, width, here))
            later.append((x, width, rest))
        more = {"rule": self.rule, "pad": self.pad}
        return [Columns(now, self.page_depth, **more), Columns(later, self.page_depth, **more)]

    def _cut(self, width: float, stack: Sequence[Any], room: float) -> tuple[list[Any], list[Any]]:
        here: list[Any] = []
        for k, flowable in enumerate(stack):
            height = flowable.wrapOn(None, width, 1e6)[1]
            if height > room + 0.01:
                halves = flowable.splitOn(None, width, room) if room > 0 else []
                return here + halves[:1], [*(halves[1:] or [flowable]), *stack[k + 1 :]]
            here.append(flowable)
            room -= height + flowable.getSpaceAfter()
        return here, []

    def draw(self) -> None:
        """Each column from the top down; a rule above the block if it has one."""
        if self.rule is not None:
            self.canv.setStrokeColor(self.rule)
            self.canv.setLineWidth(0.6)
            self.canv.line(0, self.height, self.width, self.height)
        for x, width, stack in self.columns:
            y = self.height - self.pad
            for flowable in stack:
                y -= flowable.wrapOn(self.canv, width, 1e6)[1]
                flowable.drawOn(self.canv, x, y)
                y -= flowable.getSpaceAfter()


def high(flowable: Any, width: float) -> float:
    """Height of a flowable at that width, with the space after it."""
    return float(flowable.wrapOn(None, width, 1e6)[1] + flowable.getSpaceAfter())


def column_width(look: Look, count: int = 2, gap: float = 6 * MM) -> float:
    """Width of one of so many columns over the measure."""
    return (look.measure - (count - 1) * gap) / count


class ReadDown(Flowable):  # type: ignore[misc]
    """A list in columns over the measure, each read down before the next; balanced where it ends, cut with the page."""

    def __init__(self, look: Look, items: Sequence[Any], count: int = 2, gap: float = 6 * MM) -> None:
        super().__init__()
        self.look, self.items, self.count, self.gap = look, list(items), count, gap
        self.column = column_width(look, count, gap)
        self.heights = [high(item, self.column) for item in self.items]
        self.height: float = 0.0

    def _filled(self, depth: float) -> list[int]:
        """How many items stand up to the end of each column, where each is so deep."""
        ends, k = [], 0
        for _ in range(self.count):
            room = depth + 0.01
            while k < len(self.items) and self.heights[k] <= room:
                room -= self.heights[k]
                k += 1
            ends.append(k)
        return ends

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        """The least depth at which the columns hold all."""
        if self.items and not self.height:
            depth = max(max(self.heights), sum(self.heights) / self.count)
            while (ends := self._filled(depth))[-1] < len(self.items):
                depth = min(sum(self.heights[a : b + 1]) for a, b in zip([0, *ends], ends, strict=False))
            self.height = depth
        return self.look.measure, self.height

    def split(self, available_width: float, available_height: float) -> list[Any]:
        """What fills the columns here, and the rest; an item is cut only where no page holds it."""
        if self.wrap(available_width, available_height)[1] <= available_height:
            return [self]
        if available_height < min(24 * MM, self.look.depth):
            return []
        count = self._filled(available_height)[-1]
        if count:
            return [self._of(self.items[:count]), self._of(self.items[count:])]
        if self.heights[0] <= self.look.depth:
            return []
        halves = self.items[0].splitOn(None, self.column, available_height)
        return [self._of(halves[:1]), self._of([*halves[1:], *self.items[1:]])] if halves else []

    def _of(self, items: Sequence[Any]) -> "ReadDown":
        return ReadDown(self.look, items, self.count, self.gap)

    def draw(self) -> None:
        """Each column from the top down."""
        ends = self._filled(self.height)
        for n, (start, end) in enumerate(zip([0, *ends], ends, strict=False)):
            y = self.height
            for item in self.items[start:end]:
                y -= item.wrapOn(self.canv, self.column, 1e6)[1]
                item.drawOn(self.canv, n * (self.column + self.gap), y)
                y -= item.getSpaceAfter()

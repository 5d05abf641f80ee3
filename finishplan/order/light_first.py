"""Light before dark over the whole figure, among orders with the fewest passes.

Darkness out of order: for every two items of which the one painted earlier is darker, by how much the other is
lighter, summed up. In hundredths of L*, whole numbers, so that no order wins by the arithmetic; a difference of under
NOT_SEEN counts as none, and broad before fine decides there. Specks and recuts, which go on top at the end whatever
their lightness, count for nothing; nor does what the rules put out of order, as it is the same in every order.

The order with the least is found exactly, by Dijkstra's algorithm over the sets of items left (the passes still to
come follow from what is left, as their number is the least). Beyond STATES_LIMIT sets the lightest pass that fits is
taken at every step.
"""

from collections.abc import Sequence
from heapq import heappop, heappush

from finishplan.order.fewest_passes import Knots, ones
from finishplan.order.rules import TIE_L

NOT_SEEN = round(100 * TIE_L)
STATES_LIMIT = 2_000


class LightFirst:
    """Darkness and breadth of the moves of a search. lightness: L* of each mix; breadth: mm, the brush of each item,
    0 of specks and recuts."""

    def __init__(self, search: Knots, lightness: Sequence[float], breadth: Sequence[float]) -> None:
        self.search, self.breadth = search, breadth
        # Whole numbers: sums of floats would depend on the order in which they are added.
        self.light = [round(100 * v) for v in lightness]
        self.counted = sum(1 << i for i, mm in enumerate(breadth) if mm > 0)
        self.lighter = {
            m: [(gap, bits) for q, bits in search.bits.items() if (gap := self.light[q] - self.light[m]) >= NOT_SEEN]
            for m in search.bits
        }

    def darkness(self, left: int, rest: int) -> int:
        """What a pass adds that lays all of `left` but `rest`, beyond what the rules ask."""
        total = 0
        for i in ones((left ^ rest) & self.counted):
            # What must come later is out of order in every order: without `after` it counts no way.
            free = rest & self.counted & ~self.search.after[i]
            total += sum(gap * (free & bits).bit_count() for gap, bits in self.lighter[self.search.mix[i]])
        return total

    def rank(self, left: int, rest: int) -> tuple[float, int]:
        """The broadest brush first; of equal ones the lightest colour."""
        laid = left ^ rest
        # All that a pass lays is of one mix, so any of it tells the lightness.
        return -max(self.breadth[i] for i in ones(laid)), -self.light[self.search.mix[next(ones(laid))]]

    def sequence(self, passes: int) -> list[int]:
        """Mixes to open, as few as `passes`, the least darkness out of order, then broad before fine."""
        start = self.search.everything
        # Compared in turn: darkness, then broad before fine, pass by pass; the rest only makes equals definite.
        heap: list[tuple[int, list[tuple[float, int]], int, list[int]]] = [(0, [], start, [])]
        settled = set[int]()
        while heap and len(settled) < STATES_LIMIT:
            dark, ranks, left, path = heappop(heap)
            if not left:
                return path
            if left in settled:
                # Settled at its least; the same set may lie in the heap several times, as nothing is taken out of it.
                continue
            settled.add(left)
            for m, rest in self.search.moves(left):
                # The number of passes is the least already: a move that would cost one is no move here.
                if rest not in settled and self.search.fits(rest, passes - len(path) - 1):
                    key = [*ranks, self.rank(left, rest)]
                    heappush(heap, (dark + self.darkness(left, rest), key, rest, [*path, m]))
        return self._greedy(passes)

    def _greedy(self, passes: int) -> list[int]:
        """At every step the lightest pass that leaves the number of passes the least. Some move always fits, as the
        search keeps what it found on its way."""
        left, path = self.search.everything, list[int]()
        for following in range(passes - 1, -1, -1):
            moves = sorted(self.search.moves(left), key=lambda move: self.next_key(left, move[1]))
            m, left = next(move for move in moves if self.search.fits(move[1], following))
            path.append(m)
        return path

    def next_key(self, left: int, rest: int) -> tuple[int, tuple[float, int]]:
        """What goes next where only this pass is weighed: the least darkness, then the rank."""
        return self.darkness(left, rest), self.rank(left, rest)

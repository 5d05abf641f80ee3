"""The order as a plain indexed problem: items of one mix each, arcs between them, and what solving it yields.

The builder (order.py) knows areas, parts and reasons; the solver sees only what is here.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Arc:
    """Item `first` is laid before item `second`; breaking it costs `weight` (mm of edge x coats to recut it).

    recut: when broken, the mix of `second`, laid too early, is laid again along the edge after `first`.
    wish: of a tie, that it goes before all others.
    """

    first: int
    second: int
    weight: float
    recut: bool = True
    wish: bool = False


@dataclass(frozen=True)
class OrderProblem:
    """mix: (n,) index of the mix of each item; breadth: (n,) mm, the brush it takes, 0 of a speck; lightness: L* of
    each mix; arcs: rules that hold unless they contradict each other; ties: rules given up as soon as they cost a pass
    or close a circle.

    Items come in an order that does not depend on the numbering of the drawing: it settles what nothing else does.
    """

    mix: tuple[int, ...]
    breadth: tuple[float, ...]
    lightness: tuple[float, ...]
    arcs: tuple[Arc, ...]
    ties: tuple[Arc, ...] = ()

    def __post_init__(self) -> None:
        # No InputError: no drawing and no job leads here, only a builder at fault.
        if len(self.mix) != len(self.breadth):
            raise ValueError(f"{len(self.mix)} mixes but {len(self.breadth)} breadths")
        if any(not 0 <= m < len(self.lightness) for m in self.mix):
            raise ValueError(f"a mix without its lightness, {len(self.lightness)} are given")
        for arc in (*self.arcs, *self.ties):
            if not (0 <= arc.first < len(self.mix) and 0 <= arc.second < len(self.mix)):
                raise ValueError(f"{arc} names an item outside 0-{len(self.mix) - 1}")
            if arc.first == arc.second or arc.weight <= 0:
                raise ValueError(f"{arc} joins an item to itself or costs nothing")


@dataclass(frozen=True)
class Opening:
    """One opening of a mix and the items laid in it, ascending; items from n on are the recuts."""

    mix: int
    items: tuple[int, ...]


@dataclass(frozen=True)
class OrderSolution:
    """openings: the passes in order. broken: indices into arcs, in the order of the recut items; dropped: indices into
    ties. recuts: for item n + k the index of the arc it mends. bound: no order of this problem, with these recuts, has
    fewer passes; proven: the passes are that few."""

    openings: tuple[Opening, ...]
    broken: tuple[int, ...]
    recuts: tuple[int, ...]
    dropped: tuple[int, ...]
    bound: int

    @property
    def proven(self) -> bool:
        """No order has fewer passes."""
        return len(self.openings) == self.bound

"""What each pass does on each part: brush, lines, what to keep off and why, complete for a sheet or a page."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from finishplan.bench.model import Step
from finishplan.order.brushes import brush_for
from finishplan.order.model import PaintingOrder, Pass, PassKind, PassWork
from finishplan.order.reasons import pass_reasons
from finishplan.plan.edge_words import Pair, edge_marks, edge_notes
from finishplan.scheme.model import Scheme, SchemeArea


@dataclass(frozen=True)
class PartPass:
    """What one pass does on one part. mixes: ids open on it, the main one first; line_coats: (area, coats) of the
    coats, the last, that go only along a line; cut, lap: edges to cut, to lap over or shade into; care: what to keep
    off and how to hold it; told: (areas, what to do at their edges)."""

    pass_no: int
    part: str
    work: tuple[PassWork, ...]
    mixes: tuple[str, ...]
    brush: str
    line_coats: tuple[tuple[int, int], ...]
    cut: tuple[Pair, ...]
    lap: tuple[Pair, ...]
    care: tuple[str, ...]
    own_text: str
    told: tuple[tuple[tuple[int, ...], str], ...]
    why: tuple[str, ...]

    @property
    def areas(self) -> tuple[int, ...]:
        """Ids of the areas it lays paint on, ascending."""
        return tuple(sorted({w.area for w in self.work}))

    @property
    def coats(self) -> int:
        """Most coats that any area gets."""
        return max(w.coats for w in self.work)


def part_passes(scheme: Scheme, order: PaintingOrder, steps: Sequence[Step]) -> tuple[PartPass, ...]:
    """What every pass does on every part it lays paint on, pass by pass, parts in the scheme's order."""
    # A page has one part, and a pass its passages on several: each gets the work that is its own.
    rows = ((laid, part.name) for laid in order.passes for part in scheme.parts)
    words = {s.key: s.text for s in steps if s.own_text}
    return tuple(
        _part_pass(scheme, order, laid, part, words.get(f"pass-{laid.no}", ""))
        for laid, part in rows
        if any(w.part == part for w in laid.work)
    )


def mixes_of(laid: Pass) -> tuple[str, ...]:
    """Ids of the mixes open in a pass, the main one first."""
    return tuple(dict.fromkeys((laid.mix, *laid.also_open, *(w.mix for w in laid.work if w.mix))))


def _part_pass(scheme: Scheme, order: PaintingOrder, laid: Pass, part: str, own_text: str) -> PartPass:
    work = tuple(w for w in laid.work if w.part == part)
    line = {w.area: order.line_coats(w) for w in work}
    cut, lap = edge_marks(laid, order.edges, work)
    return PartPass(
        pass_no=laid.no,
        part=part,
        work=work,
        # A second mix is open only where the part has work for it.
        mixes=tuple(m for m in mixes_of(laid) if m == laid.mix or any(w.mix == m for w in work)),
        brush=_brush(scheme, laid, work),
        line_coats=tuple(sorted((area, n) for area, n in line.items() if n)),
        cut=cut,
        lap=lap,
        care=_care(laid, part),
        own_text=own_text,
        told=edge_notes(laid, order.edges, work),
        why=(*_reasons(scheme, order, replace(laid, work=work), part), *laid.tool_why),
    )


def _brush(scheme: Scheme, laid: Pass, work: Sequence[PassWork]) -> str:
    """The brush for what the pass paints on a part, that for its dots and lines apart where there is more."""
    areas = {a.id: a for a in scheme.areas}
    own = {"dot": "dots", "recut": "touching up the line"}
    kinds: dict[PassKind, list[SchemeArea]] = {}
    # Areas before dots and lines, which get a smaller brush and come last.
    for w in sorted(work, key=lambda w: w.kind in own):
        kinds.setdefault(w.kind if w.kind in own else "colour", []).append(areas[w.area])
    brushes = {kind: brush_for(these, kind, laid.tool) for kind, these in kinds.items()}
    if len(set(brushes.values())) == 1:
        return next(iter(brushes.values()))
    return "; ".join(f"{own[kind]}: {brush}" if kind in own else brush for kind, brush in brushes.items())


def _care(laid: Pass, part: str) -> tuple[str, ...]:
    """What keeps clear of paint on the part beyond its glue faces, and how to hold it where no stick does."""
    masks = [m.text for m in laid.masks if m.part in ("", part) and not m.usual]
    holds = [f"hold it {h.text}" for h in laid.holds if h.part == part and not h.usual]
    # With an airbrush in use, why this pass stays with the brush is what to look out for; why one is sprayed is not.
    kept = [why for why in laid.tool_why if laid.tool == "brush"]
    return (*kept, *masks, *holds)


def _reasons(scheme: Scheme, order: PaintingOrder, own: Pass, part: str) -> tuple[str, ...]:
    """Why the pass stands where it does, as far as it touches this part."""
    ids = {i for p in scheme.parts if p.name == part for i in p.areas}
    inside = [e for e in order.edges if set(e.areas) & ids]
    coats, areas = {c.area: c for c in order.coats}, {a.id: a for a in scheme.areas}
    return pass_reasons(own, order.passes, inside, coats, areas)

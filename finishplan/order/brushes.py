"""At the bench: which brush, how to hold the piece, what to mask or leave bare.

Brush sizes are common practice: the belly of a round of each number and the widths flats are sold in, in mm. Makers
differ by a size either way, so the advice always gives the mm.
"""

from collections.abc import Mapping, Sequence

from finishplan.job.settings import Tool
from finishplan.order.area_names import label, listed
from finishplan.order.model import Care, Pass, PassKind
from finishplan.scheme.model import Scheme, SchemeArea, SchemePart

ROUNDS_MM = {
    "5/0": 0.7, "3/0": 1.0, "2/0": 1.2, "0": 1.5, "1": 1.8, "2": 2.2, "3": 2.6, "4": 3.2, "5": 3.9, "6": 4.6, "8": 5.9
}  # fmt: skip
FLATS_MM = (4, 6, 8, 10, 12, 16, 20, 25)
FLAT_FROM_MM = 8.0
"""An area this wide is covered with a flat; its strokes are half as wide as the area."""
STRIPE_MM, STRIPE_LONG = 4.0, 4.0
"""Up to so many mm wide, and so many times as long, an area is laid in strokes of its own width (common practice)."""
SPRAY_FROM_MM = 8.0
"""An airbrush's narrowest even stroke: an area less wide is brushed."""
HELD_FROM_MM = 10.0
"""An area as wide as a fingertip can be held by (common practice)."""


def brush_for(areas: Sequence[SchemeArea], kind: PassKind, tool: Tool) -> str:
    """The brush or brushes for a pass on `areas`."""
    if tool == "airbrush":
        return "airbrush, 0.3 mm nozzle"
    narrow, wide = min(a.narrow_mm for a in areas), max(a.wide_mm for a in areas)
    if kind == "dot":
        return f"{_round(wide)}, or the point of a cocktail stick"
    if kind == "recut":
        # A line is touched up with a fine brush, however broad the area.
        return _round(min(narrow, ROUNDS_MM["1"]))
    stroke = max(_stroke_mm(a) for a in areas)
    fine = _round(min(narrow, stroke))
    if wide < FLAT_FROM_MM:
        return fine if _round(stroke) == fine else f"{_round(stroke)}, {fine} for the narrow places"
    flat = max(f for f in FLATS_MM if f <= max(wide / 2, FLATS_MM[0]))
    return f"flat {flat} mm for the broad areas, {fine} for edges"


def broad_mm(area: SchemeArea) -> float:
    """Width of the brush that covers an area: the flat or the round that `brush_for` takes for its broad places."""
    stroke = _stroke_mm(area)
    if area.wide_mm >= FLAT_FROM_MM:
        return max(f for f in FLATS_MM if f <= max(stroke, FLATS_MM[0]))
    return max((mm for mm in ROUNDS_MM.values() if mm <= stroke), default=min(ROUNDS_MM.values()))


def _stroke_mm(area: SchemeArea) -> float:
    """How broad a stroke its broad places take: half their width, so that the rim is left to steer along; a stripe is
    drawn in one go."""
    stripe = area.wide_mm <= STRIPE_MM and area.extent_mm >= STRIPE_LONG * area.wide_mm
    return area.wide_mm if stripe else area.wide_mm / 2


def _round(mm: float) -> str:
    """The largest round that still fits into `mm`, never below the finest."""
    fits = [number for number, belly in ROUNDS_MM.items() if belly <= mm]
    number = fits[-1] if fits else next(iter(ROUNDS_MM))
    return f"round {number} ({ROUNDS_MM[number]:g} mm)"


def hold_for(
    scheme: Scheme, parts: Sequence[SchemePart], due: Sequence[int], painted: set[int], sticks: bool
) -> tuple[Care, ...]:
    """How to hold each part of a pass: by its stick; where the maker puts it on none, by its glue face, else by its
    largest area that is not begun (`painted`: those that are), not due nor beside what is, and broad enough."""
    return tuple(Care(part.name, _hold(scheme, part, set(due), painted, sticks), usual=sticks) for part in parts)


def _hold(scheme: Scheme, part: SchemePart, due: set[int], painted: set[int], sticks: bool) -> str:
    if sticks:
        return "by its stick" + (f" (glue face: {part.glue_faces[0]})" if part.glue_faces else "")
    if part.glue_faces:
        return f"by its glue face ({part.glue_faces[0]})"
    # Beside what is due a finger would be in the way of the line.
    wet = due | {n for e in scheme.edges if due & set(e.areas) for n in e.areas}
    own = [a for a in scheme.areas if a.id in part.areas and a.id not in wet | painted]
    free = [a for a in own if a.wide_mm >= HELD_FROM_MM]
    if free:
        return f"by {label(max(free, key=lambda a: (a.cm2, -a.id)))}, not begun"
    return "on a pin, or on putty under it"


def glue_bare(part: SchemePart) -> str:
    """'keep the glue face bare (neck)', which every coat on the part must."""
    return f"keep the glue face{'s' * (len(part.glue_faces) > 1)} bare ({listed(part.glue_faces)})"


def mask_for(
    scheme: Scheme, parts: Sequence[SchemePart], one: Pass, painted: set[int], lightness: Mapping[int, float]
) -> tuple[Care, ...]:
    """What keeps clear of paint in a pass: glue faces and bare areas beside it; when spraying, also what is painted
    already on the same part and what is not yet but will be lighter (over-spray would darken its ground). lightness:
    L* of areas."""
    areas = {a.id: a for a in scheme.areas}
    due = set(one.areas)
    kept = [Care(p.name, glue_bare(p), usual=True) for p in parts if p.glue_faces]
    lines = []
    beside = {n for e in scheme.edges if due & set(e.areas) for n in e.areas} - due
    spray = one.tool == "airbrush"
    bare = [areas[i] for i in sorted(beside) if "bare" in areas[i].flags]
    if bare:
        lines.append(("mask " if spray else "keep off ") + listed(map(label, bare)) + ", left bare")
    here = [i for p in parts for i in p.areas if spray and i not in due and "bare" not in areas[i].flags]
    dry = [areas[i] for i in here if i in painted]
    lightest = max((lightness[i] for i in due if i in lightness), default=100.0)
    # Over-spray would darken what lies under them; on what will be darker it does no harm.
    lighter = [areas[i] for i in here if i in beside - painted and lightness[i] > lightest]
    if dry:
        lines.append(f"mask {listed(map(label, dry))}, painted already")
    if lighter:
        lines.append(f"mask {listed(map(label, lighter))}, lighter and still to come")
    return (*kept, *(Care("", line) for line in lines))

"""How many millimetres a pixel of the drawing is: from the heights that the maker told, all of them."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from finishplan.drawing.model import USUAL_HEIGHT_MM, Drawing
from finishplan.job.job import Job
from finishplan.job.parts import parts_of_areas

AT_ODDS = 0.05
"""Heights that differ by more from one scale contradict each other (our rule: a drawing is no truer)."""


@dataclass(frozen=True)
class Scales:
    """mm_per_px: of the sheet. of_part: where parts have scales of their own. note: what fixed it. warnings: heights
    that contradict each other. guessed: what to say before all else where no part's height
    was told, else ''. told: whether any height was."""

    mm_per_px: float
    note: str
    of_part: Mapping[str, float] = field(default_factory=dict)
    warnings: tuple[str, ...] = ()
    guessed: str = ""
    told: bool = True

    def of(self, part: str) -> float:
        """Millimetres per pixel of a part."""
        return self.of_part.get(part, self.mm_per_px)


def scales(drawing: Drawing, job: Job, part_of: Mapping[int, str]) -> Scales:
    """The scale of the sheet and of its parts. part_of: the part of each area.

    One scale for the sheet makes the squares of the relative errors of all heights least.
    """
    told = {name: part.height_mm for name, part in job.parts.items() if part.height_mm is not None}
    drawn = {name: _drawn_px(drawing, name, part_of) for name in told}
    each = {name: mm / drawn[name] for name, mm in told.items() if drawn[name] > 0}
    # The height of a part as drawn fixes the scale; that of the figure hardly does, with pieces drawn apart.
    if not each:
        return _of_the_whole(drawing, job)
    if job.figure.scale == "part":
        # For parts without a height of their own.
        mean = _least_squares(list(each.values()))
        said = ", ".join(f"{name} {told[name]:g} mm" for name in each)
        rest = "" if len(each) == len(set(part_of.values())) else "; other parts have the mean of these"
        return Scales(mean, f"Scale: each part by its own height as drawn: {said}{rest}.", each)
    common = _least_squares(list(each.values()))
    (first, *others) = each
    named = f"{first} is {told[first]:g} mm high as drawn" if not others else _heights(told, each)
    note = f"Scale: {named}; height_mm of the figure is only printed."
    return Scales(common, note, warnings=_at_odds(each, told, common, job.file))


def told_scale(drawing: Drawing, job: Job) -> float | None:
    """Millimetres per pixel of the sheet, None where the job tells no height at all."""
    found = scales(drawing, job, parts_of_areas(drawing, job))
    return found.mm_per_px if found.told else None


def _drawn_px(drawing: Drawing, part: str, part_of: Mapping[int, str]) -> float:
    boxes = [a.bbox for a in drawing.areas if part_of.get(a.id) == part]
    return max((b[3] for b in boxes), default=0.0) - min((b[1] for b in boxes), default=0.0)


def _least_squares(each: list[float]) -> float:
    """s that makes the sum of (s / each - 1)^2 least."""
    return sum(1 / e for e in each) / sum(1 / e**2 for e in each)


def _heights(told: Mapping[str, float], each: Mapping[str, float]) -> str:
    return ", ".join(f"{name} {told[name]:g} mm" for name in each) + " high as drawn, all to one scale"


def _at_odds(each: Mapping[str, float], told: Mapping[str, float], common: float, file: str) -> tuple[str, ...]:
    off = {name: e / common - 1 for name, e in each.items() if abs(e / common - 1) > AT_ODDS}
    if not off:
        return ()
    said = ", ".join(f"{name} ({told[name]:g} mm) by {abs(by):.0%}" for name, by in off.items())
    cure = 'mend them, or write scale = "part" under [figure] if the parts are drawn to different scales'
    return (f"{file}: parts.*.height_mm contradict each other: off one scale for the sheet are {said}; {cure}.",)


def _of_the_whole(drawing: Drawing, job: Job) -> Scales:
    """By the figure's height, told or usual: the tallest piece stands for it."""
    height = job.figure.height_mm
    what = f"{USUAL_HEIGHT_MM:g} mm (not told: set height_mm)" if height is None else f"{height:g} mm"
    # Pieces drawn apart do not stand on each other, so the sheet's height means nothing.
    tallest = max((p.bbox[3] - p.bbox[1] for p in drawing.parts), default=1)
    piece = "the drawing" if len(drawing.parts) == 1 else "the tallest piece drawn"
    return Scales(
        (height or USUAL_HEIGHT_MM) / max(tallest, 1),
        f"Scale: {piece} stands for the figure's height, {what}.",
        guessed=_guessed(drawing, height),
        told=height is not None,
    )


def _guessed(drawing: Drawing, height: float | None) -> str:
    """What hangs on a height that nobody told."""
    amounts = "amounts may be several times off"
    if height is None:
        cure = "set height_mm" + (" of a part as it is drawn" if len(drawing.parts) > 1 else " of the figure")
        return f"Sizes are guessed: no height was told; {amounts}. {cure[0].upper()}{cure[1:]}."
    if len(drawing.parts) > 1:
        why = f"{height:g} mm is the height of the whole figure, and its pieces are drawn apart"
        return f"Sizes are guessed: {why}; {amounts}. Set height_mm of one part as it is drawn."
    return ""

"""Short plain words: times, ranges, what to do at an edge. No layout here."""

import re
from collections.abc import Iterable, Sequence
from math import ceil

from finishplan.basics.words import duration, listed
from finishplan.order.model import EdgeOrder, Pass, PassKind, PassWork
from finishplan.run.model import Session


def clock(value_min: float, session: Session | None = None) -> str:
    """A time of day where the session's start names one ('Sat 09:00'), else hours and minutes from its start; rounded
    up, as in the calendar: nothing begins before what it waits for, and a session ends with its last task."""
    start = session.start_min if session else 0.0
    named = _named(session)
    total = (named or 0) + ceil(value_min - start - 1e-6)
    hours = (total // 60) % 24 if named is not None else total // 60
    return f"{hours}:{total % 60:02d}"


def _named(session: Session | None) -> int | None:
    """Minutes after midnight of a session's start, where that is told."""
    found = re.search(r"(\d{1,2})[:.](\d{2})\s*$", session.clock) if session else None
    return int(found[1]) * 60 + int(found[2]) if found else None


def session_end(last_min: float, session: Session) -> str:
    """When the last task of a session ends, as its start is told: '22:00', 'day 3, 01:30' where that is another day
    than its start's; 'after 1 h 33 min' where no time of day is known."""
    named = _named(session)
    if named is None:
        return f"after {duration(last_min - session.start_min, days=False, up=True)}"
    later = (named + ceil(last_min - session.start_min - 1e-6)) // 1440
    day = re.match(r"day (\d+), ", session.clock)
    return (f"day {int(day[1] if day else 1) + later}, " if later else "") + f"{clock(last_min, session):0>5}"


def from_to(start_min: float, end_min: float, session: Session | None = None) -> str:
    """'1:50–1:54'; one time only where both are in the same minute."""
    return "–".join(dict.fromkeys(clock(value, session) for value in (start_min, end_min)))


def under_dryer(*minutes: float) -> str:
    """'2 min under the dryer', '2 to 3 min ...': never less than is needed."""
    least, most = (duration(m, up=True) for m in (min(minutes), max(minutes)))
    first = least if " h" in most else least.removesuffix(" min")
    return f"{'' if least == most else first + ' to '}{most} under the dryer"


def ml(value: float) -> str:
    """'0.21 ml', '3.4 ml', '120 ml'; never rounded down to nothing."""
    if value <= 0:
        return "0 ml"
    if value < 0.01:
        return "under 0.01 ml"
    return f"{value:.2f} ml" if value < 1 else f"{value:.1f} ml" if value < 20 else f"{value:.0f} ml"


def number(value: float) -> str:
    """A number without idle zeros, one decimal at most."""
    return f"{value:.1f}".removesuffix(".0")


def sentence(text: str) -> str:
    """With a capital and a full stop."""
    text = text.strip()
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "!", "?")) or not text else ".")


def amount(value: str, unit: str) -> str:
    """'12 castings', '1 casting', '0.1 m/s': a unit that is a word in the plural loses its s after 1."""
    one = re.sub(r"^([a-z]{3,})s$", r"\1", unit) if value == "1" else unit
    return f"{value} {one}".strip()


def ranges(numbers: Iterable[int]) -> str:
    """'1–12, 15' or 'odd 1–11, 15': runs of numbers in the order given."""
    left, said = list(numbers), []
    while left:
        ones, twos = (_run(left, step) for step in (1, 2))
        by_two = twos > max(ones, 3)
        count = twos if by_two else ones
        kind = ("odd " if left[0] % 2 else "even ") if by_two else ""
        said.append(f"{kind}{left[0]}–{left[count - 1]}" if count > 1 else str(left[0]))
        left = left[count:]
    return ", ".join(said)


def _run(numbers: Sequence[int], step: int) -> int:
    """How many numbers from the first on go up by `step`."""
    count = 1
    while count < len(numbers) and numbers[count] == numbers[count - 1] + step:
        count += 1
    return count


def _as_first(edge: EdgeOrder) -> str:
    """What the first colour does at the line; the other side is put in."""
    if edge.treat == "blend":
        return "leave the side of {} thin, for shading"
    if edge.treat == "dot":
        return "paint right over the place of {}: dotted on top later"
    if edge.lap_mm > 0:
        return "lap {mm} over the line into {} and thin it out"
    return "thin it out towards {}" if edge.treat == "lap" else "stop at the line with {}"


_AS_SECOND = {
    "cut": "cut a clean line against {}",
    "lap": "run over the thinned edge of {}",
    "dot": "set on top of {}",
    "blend": "feather softly into {}",
    "recut": "cut the line against {} again",
}


def _note(edge: EdgeOrder, area: int, laid: Pass, kind: PassKind, together: frozenset[int]) -> str:
    """What to do on this side of one edge in this pass, '' if nothing."""
    made_here = edge.pass_no == laid.no or edge.areas in laid.edges
    if kind == "recut":
        return _AS_SECOND["recut"] if edge.treat == "recut" and made_here else ""
    if together >= set(edge.areas) and edge.treat == "lap":
        return "paint straight across into {}" if edge.second == area else ""
    if edge.first == area:
        return "" if kind in ("undercoat", "dot") and edge.treat != "blend" else _as_first(edge)
    return _AS_SECOND[edge.treat if edge.treat != "recut" else "cut"] if made_here else ""


def edge_notes(laid: Pass, edges: Sequence[EdgeOrder], work: Iterable[PassWork]) -> list[tuple[tuple[int, ...], str]]:
    """(areas of the pass, what to do at their edges), areas with the same to do brought together, ascending."""
    kinds = {w.area: w.kind for w in work}
    together = frozenset(kinds)
    notes: dict[str, list[int]] = {}
    for area, kind in sorted(kinds.items()):
        said: dict[str, list[EdgeOrder]] = {}
        for edge in edges:
            words = _note(edge, area, laid, kind, together) if area in edge.areas else ""
            if words:
                said.setdefault(words, []).append(edge)
        text = "; ".join(_filled(words, area, alike) for words, alike in said.items())
        if kind == "undercoat" and not text:
            text = "stay inside the lines" if set(kinds.values()) == {"undercoat"} else "undercoat, inside the lines"
        if text:
            notes.setdefault(text, []).append(area)
    return [(tuple(ids), text[0].upper() + text[1:] + ".") for text, ids in notes.items()]


def _filled(words: str, area: int, edges: Sequence[EdgeOrder]) -> str:
    laps = sorted({round(e.lap_mm, 1) for e in edges})
    mm = number(laps[0]) + (f"–{number(laps[-1])}" if len(laps) > 1 else "") + " mm"
    return words.format(listed(sorted(sum(e.areas) - area for e in edges)), mm=mm)


def of_part(lines: Iterable[str], part: str, parts: Iterable[str]) -> list[str]:
    """The lines that speak of `part` ('head: keep the neck bare' becomes 'keep the neck bare') or of no part."""
    others = tuple(f"{p}: " for p in parts if p != part)
    return [text.removeprefix(f"{part}: ") for text in lines if not text.startswith(others)]


def names_areas(reason: str, areas: Iterable[tuple[int, str]]) -> bool:
    """Whether a reason names an area ('30 coat'). areas: (id, name) of the whole figure."""
    return any(re.search(rf"(?<!\d){i} {re.escape(name)}(?!\w)", reason) for i, name in areas)

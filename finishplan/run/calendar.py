"""The run for other programs: sessions as an iCalendar file (RFC 5545), tasks as CSV (RFC 4180)."""

import csv
import hashlib
import io
import re
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta

from finishplan.basics.errors import InputError
from finishplan.basics.words import listed
from finishplan.run.build import time_of_day
from finishplan.run.model import Run, Session, Task
from finishplan.run.words import parts_together

_COLUMNS = ("start_min", "end_min", "painter", "casting", "kind", "pass", "coat", "mix", "part")


def run_csv(run: Run) -> str:
    """One row a task in order of time; minutes from the start of the run; casting 0: the whole bench. The figure last,
    where the run is of several."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    # Each figure numbers its own passes: without its name a pass of several figures could be any one's.
    several = any(t.figure for t in run.tasks)
    writer.writerow((*_COLUMNS, "figure") if several else _COLUMNS)
    for t in run.tasks:
        times = f"{t.start_min:.2f}", f"{t.end_min:.2f}"
        row = (*times, t.painter, t.casting, t.kind, t.pass_no, t.coat, _plain(t.mix), _plain(t.part))
        writer.writerow((*row, _plain(t.figure)) if several else row)
    return out.getvalue()


def _plain(text: str) -> str:
    """A name that no spreadsheet takes for a formula."""
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t", "\r") else text


def run_ics(run: Run, start: str | None, name: str) -> str:
    """The sessions as events. start: when the run begins, '2026-03-14T09:00' for local time wherever the
    calendar is read (RFC 5545 3.3.5 form 1), with 'Z' or an offset for a fixed instant. Raises InputError for
    anything else."""
    begin = _instant(start)
    # The standard asks for the time of writing; the run's own gives the same file whenever it is written.
    stamp = (begin if begin.tzinfo else begin.replace(tzinfo=UTC)).astimezone(UTC)
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//finishplan//run//EN", "CALSCALE:GREGORIAN"]
    for session in run.sessions:
        tasks = [t for t in run.tasks if session.start_min <= t.start_min < session.end_min]
        if not tasks:
            continue
        title = f"Paint {name}" + (f", evening {session.no} of {len(run.sessions)}" if len(run.sessions) > 1 else "")
        # The same evening of the same run: read in again, it replaces itself.
        key = hashlib.sha256(f"{name}|{start}|{run.castings}|{session.no}".encode()).hexdigest()[:32]
        lines += [
            "BEGIN:VEVENT",
            f"UID:{key}@finishplan.invalid",
            f"DTSTAMP:{stamp:%Y%m%dT%H%M%SZ}",
            f"DTSTART:{_time(begin, session.start_min)}",
            f"DTEND:{_time(begin, _last(session, tasks))}",
            f"SUMMARY:{_text(title)}",
            f"DESCRIPTION:{_text(_summary(tasks))}",
            "END:VEVENT",
        ]
    lines.append("END:VCALENDAR")
    return "".join(_folded(line) + "\r\n" for line in lines)


def agreed_start(start: str, start_at: str) -> tuple[str, str, str]:
    """The calendar's start and the run's time of day, made to agree, and what to say where `start` overrules the
    job's `start_at`. A date alone leaves the time to the job. Raises InputError."""
    begin, asked = _instant(start), time_of_day(start_at)
    if asked is not None and re.fullmatch(r"[0-9W-]+", start.strip()):  # a date alone
        begin += timedelta(minutes=asked)
    time = f"{begin:%H:%M}"
    overruled = f'--start says {time}, which overrules start_at = "{start_at}" of the job.'
    return begin.isoformat(), time, "" if asked in (None, begin.hour * 60 + begin.minute) else overruled


def _instant(start: str | None) -> datetime:
    cure = "give --start as 2026-03-14T09:00"
    if start is None:
        raise InputError("a calendar needs the time at which the run begins", where="--start", cure=cure)
    try:
        begin = datetime.fromisoformat(start.strip())
        begin.replace(tzinfo=begin.tzinfo or UTC).astimezone(UTC)  # there is such a moment
        return begin
    except (ValueError, OverflowError):
        raise InputError(f"'{start[:40]}' is not a date and time", where="--start", cure=cure) from None


def _time(begin: datetime, after_min: float) -> str:
    try:
        time = begin + timedelta(minutes=after_min)
        return f"{time:%Y%m%dT%H%M%S}" if time.tzinfo is None else f"{time.astimezone(UTC):%Y%m%dT%H%M%SZ}"
    except OverflowError:
        raise InputError("the run ends after the year 9999", where="--start", cure="give an earlier one") from None


def _last(session: Session, tasks: list[Task]) -> float:
    """The end of the work in the session, in whole minutes, at least one."""
    # RFC 5545 3.8.2.2: an event ends later than it begins.
    return max(session.start_min + 1, float(-(-max(t.end_min for t in tasks) // 1)))


def _summary(tasks: list[Task]) -> str:
    """A line for each pass worked on and the coats of it that go alike: its mix, its coats, its parts and castings."""
    rows = []
    for number, mix in dict.fromkeys((t.pass_no, t.mix) for t in tasks if t.kind in ("prime", "coat")):
        own = [t for t in tasks if (t.pass_no, t.mix) == (number, mix) and t.kind in ("prime", "coat")]
        alike: dict[tuple[str, ...], list[int]] = {}
        for coat in sorted({t.coat for t in own}):
            alike.setdefault(_pieces(t for t in own if t.coat == coat), []).append(coat)
        for pieces, coats in alike.items():
            what = (
                "Prime"
                if own[0].kind == "prime"
                else f"Pass {number}, mix {mix}, coat{'s' * (len(coats) > 1)} {_spans(coats)}"
            )
            rows.append(f"{what}: {'; '.join(pieces)}")
    return "\n".join(rows)


def _pieces(tasks: Iterable[Task]) -> tuple[str, ...]:
    """'head and body, castings 1-12' for the tasks of one coat."""
    groups = parts_together(sorted(tasks, key=lambda t: t.casting))
    return tuple(
        f"{listed(parts)}{', ' * any(parts)}casting{'s' * (len(castings) > 1)} {_spans(castings)}"
        for parts, castings in groups
    )


def _spans(numbers: Iterable[int]) -> str:
    """'1-3, 5' of ascending numbers."""
    spans: list[list[int]] = []
    for n in numbers:
        if spans and n == spans[-1][1] + 1:
            spans[-1][1] = n
        else:
            spans.append([n, n])
    return ", ".join(str(a) if a == b else f"{a}-{b}" for a, b in spans)


def _text(value: str) -> str:
    """TEXT of RFC 5545 3.3.11: backslash, semicolon, comma and line break escaped, no other control character."""
    escaped = value.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,").replace("\n", "\\n")
    return "".join(c for c in escaped if c >= " " and c != "\x7f")


def _folded(line: str) -> str:
    """Content lines of at most 75 octets, whole characters, folded by RFC 5545 3.1."""
    out, used = [], 0
    for char in line:
        size = len(char.encode())
        if used + size > 75:
            out.append("\r\n ")
            # The space that a folded line begins with counts.
            used = 1
        out.append(char)
        used += size
    return "".join(out)

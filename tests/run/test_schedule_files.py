"""The calendar read back by an independent reader of RFC 5545 (icalendar, PyPI), the tasks by the csv module."""

import csv
import io
import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from icalendar import Calendar
from random_runs import chain_run, parts_run

from finishplan.basics.errors import InputError
from finishplan.run.calendar import agreed_start, run_csv, run_ics
from finishplan.run.hours import Hours
from finishplan.run.schedule import as_run
from finishplan.run.solve import solve

START = "2026-03-14T09:00"


def a_run(**changes):
    problem = replace(chain_run(3, 4), **changes)
    return as_run(solve(problem, 0))


def events(text):
    return Calendar.from_ical(text).walk("VEVENT")


def test_each_session_with_work_is_an_event_at_its_time():
    run = a_run(hours=Hours(12_000, (0, 36_000), 144_000))
    found = events(run_ics(run, START, "Lamplighter Newt"))
    worked = [s for s in run.sessions if any(s.start_min <= t.start_min < s.end_min for t in run.tasks)]
    assert len(found) == len(worked) > 2
    for event, session in zip(found, worked, strict=True):
        last = max(t.end_min for t in run.tasks if session.start_min <= t.start_min < session.end_min)
        begin = datetime(2026, 3, 14, 9) + timedelta(minutes=session.start_min)
        assert event.decoded("dtstart") == begin
        rest = event.decoded("dtend") - (datetime(2026, 3, 14, 9) + timedelta(minutes=last))
        assert timedelta(0) <= rest < timedelta(minutes=1)
        assert f"evening {session.no} of {len(run.sessions)}" in event["summary"]
    assert len({e["uid"] for e in found}) == len(found)


@pytest.mark.parametrize(
    ("start", "start_at", "begin", "time", "told"),
    [
        ("2026-05-01T09:00", "18:30", "2026-05-01T09:00:00", "09:00", True),
        ("2026-05-01T18:30", "18.30", "2026-05-01T18:30:00", "18:30", False),
        ("2026-05-01T09:00", "", "2026-05-01T09:00:00", "09:00", False),
        ("2026-05-01", "18:30", "2026-05-01T18:30:00", "18:30", False),
        ("2026-05-01T09:00+02:00", "9:00", "2026-05-01T09:00:00+02:00", "09:00", False),
    ],
)
def test_the_calendar_and_the_run_begin_at_one_time(start, start_at, begin, time, told):
    agreed, clock, said = agreed_start(start, start_at)
    assert (agreed, clock, bool(said)) == (begin, time, told)
    assert not told or (time in said and start_at in said)


def test_a_fixed_instant_is_written_in_utc():
    (event,) = events(run_ics(a_run(), "2026-03-14T09:00+02:00", "Newt"))
    assert event.decoded("dtstart") == datetime(2026, 3, 14, 7, tzinfo=UTC)
    assert event.decoded("dtstamp") == datetime(2026, 3, 14, 7, tzinfo=UTC)


def test_the_description_names_every_pass_and_casting():
    run = a_run()
    (event,) = events(run_ics(run, START, "Newt"))
    lines = str(event["description"]).split("\n")
    assert len(lines) == len({t.pass_no for t in run.tasks if t.kind == "coat"})
    assert all(line.endswith("castings 1-4") for line in lines)


def numbers(spans):
    return [n for s in spans.split(", ") for n in range(int(s.split("-")[0]), int(s.split("-")[-1]) + 1)]


def test_a_session_tells_each_part_its_own_coats_and_castings():
    """Every coat of every part and casting of each session is in its event once, and nothing else."""
    problem = replace(parts_run(2, 4), hours=Hours(6_000, (0, 36_000, 72_000, 108_000), 144_000))
    run = as_run(solve(problem, 0))
    told = []
    for event in events(run_ics(run, START, "Newt")):
        for line in str(event["description"]).split("\n"):
            what, pieces = line.split(": ")
            no, coats = what.removeprefix("Pass ").split(", ")[0], re.split(", coats? ", what)[1]
            for piece in pieces.split("; "):
                names, castings = re.split(", castings? ", piece)
                parts = [p for some in names.split(" and ") for p in some.split(", ")]
                told += [(int(no), k, p, c) for k in numbers(coats) for p in parts for c in numbers(castings)]
    assert sorted(told) == sorted((t.pass_no, t.coat, t.part, t.casting) for t in run.tasks if t.kind == "coat")
    assert len(run.sessions) > 1 and len({p for _, _, p, _ in told}) == 3


@given(st.text(st.characters(blacklist_categories=("Cs", "Cc")), max_size=120))
def test_any_name_survives_escaping_and_folding(name):
    text = run_ics(a_run(), START, name)
    (event,) = events(text)
    assert str(event["summary"]) == f"Paint {name}"
    assert all(len(line.encode()) <= 75 for line in text.split("\r\n"))
    assert text.endswith("\r\n") and "\n" not in text.replace("\r\n", "")


@pytest.mark.parametrize("start", [None, "", "Saturday", "2026-13-01T09:00", "9999-12-31T23:59"])
def test_a_start_that_is_none_is_an_input_error(start):
    with pytest.raises(InputError, match="--start"):
        run_ics(a_run(), start, "Newt")


def test_the_same_run_gives_the_same_bytes():
    assert run_ics(a_run(), START, "Newt") == run_ics(a_run(), START, "Newt")


def test_tasks_come_back_from_csv():
    problem = parts_run(5, 3)
    run = as_run(solve(problem, 0))
    text = run_csv(run)
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    assert len(rows) == len(run.tasks)
    for row, task in zip(rows, run.tasks, strict=True):
        assert (float(row["start_min"]), float(row["end_min"])) == (task.start_min, task.end_min)
        whole = (int(row["painter"]), int(row["casting"]), int(row["pass"]), int(row["coat"]))
        assert whole == (task.painter, task.casting, task.pass_no, task.coat)
        assert (row["kind"], row["mix"], row["part"]) == (task.kind, task.mix, task.part)


def test_no_cell_is_a_formula():
    run = a_run()
    tasks = (replace(run.tasks[0], mix="=1+1", part="@x"), *run.tasks[1:])
    row = run_csv(replace(run, tasks=tasks)).split("\r\n")[1]
    assert row.endswith(",'=1+1,'@x")


def test_of_several_figures_each_row_names_its_own():
    run = a_run()
    text = run_csv(replace(run, tasks=tuple(replace(t, figure="Newt" if t.casting else "") for t in run.tasks)))
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    assert [row["figure"] for row in rows] == ["Newt" if t.casting else "" for t in run.tasks]

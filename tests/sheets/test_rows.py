"""The rows of an evening read back: every task told once, with its part, coat and castings."""

import re
from collections import Counter
from dataclasses import replace

from small_plans import Size, make_plan

from finishplan.plan.plan import Plan
from finishplan.run.model import Task
from finishplan.sheets.task_rows import Row, sessions_of, task_rows, tasks_in, what


def numbers(text: str) -> list[int]:
    """'odd 1-5, 7' spelt out."""
    out: list[int] = []
    for piece in text.split(", "):
        kind, _, span = piece.rpartition(" ")
        first, _, last = span.partition("–")
        out += range(int(first), int(last or first) + 1, 2 if kind else 1)
    return out


def told(plan: Plan, row: Row) -> list[tuple[str, int, int, str, int]]:
    """The (kind, pass, coat, part, casting) that the words of a row tell."""
    said = what(plan, row)
    found = re.fullmatch(r"(?:Prime|Pass (\d+), coat (\d+)(?: \(along the cut edge only\))?): (.*)", said)
    assert found, said
    kind, film = ("coat", (int(found[1]), int(found[2]))) if found[1] else ("prime", (0, 0))
    out = []
    for group in found[3].split("; "):
        some = re.fullmatch(r"(.*?),? ?castings? ((?:odd |even )?\d.*)", group)
        assert some, said
        every = [p.name for p in plan.scheme.parts]
        parts = every if some[1] == "all parts" else re.split(", | and ", some[1])
        out += [(kind, *film, part, c) for part in parts for c in numbers(some[2])]
    return out


def as_told(task: Task) -> tuple[str, int, int, str, int]:
    film = (task.pass_no, task.coat) if task.kind != "prime" else (0, 0)
    return task.kind, *film, task.part, task.casting


def test_every_task_of_the_newt_is_told_once(newt: Plan) -> None:
    words: Counter[tuple[str, int, int, str, int]] = Counter()
    for session in sessions_of(newt):
        for row in task_rows(tasks_in(newt, session)):
            if row.kind in ("coat", "prime"):
                words.update(told(newt, row))
    assert words == Counter(as_told(t) for t in newt.run.tasks if t.kind in ("coat", "prime"))


def test_sessions_share_out_all_tasks() -> None:
    for sessions in (True, False):
        plan = make_plan(3, Size(2, 14, 6, 7, sessions=sessions))
        shared = [t for s in sessions_of(plan) for t in tasks_in(plan, s)]
        assert sorted(shared, key=repr) == sorted(plan.run.tasks, key=repr)
        assert (len(sessions_of(plan)) > 1) == (sessions and plan.run.makespan_min > 180)


def test_a_pause_is_told() -> None:
    tasks = [Task(0, 5, 1, 1, "coat", 1, 1, "A", "head"), Task(30, 35, 1, 1, "coat", 1, 2, "A", "head")]
    rows = task_rows(tasks)
    assert [row.kind for row in rows] == ["coat", "wait", "coat"]
    assert what(make_plan(size=Size(2, 6, 3, 1)), rows[1]) == "Wait 25 min: the paint dries"


def test_castings_are_told_in_order_and_where_to_begin() -> None:
    plan = make_plan(size=Size(2, 6, 3, 12))
    dried = Task(0, 9, 1, 0, "dryer", castings=(1, 2, 3, 4, 9, 10, 11, 5, 6, 7, 12, 8))
    assert what(plan, task_rows([dried])[0]) == "Hair dryer on castings 1–12 for 9 min"
    part = plan.scheme.parts[0].name
    coats = [Task(k, k + 1, 1, c, "coat", 1, 1, "A", part) for k, c in enumerate((7, 8, 1, 2, 3))]
    assert what(plan, task_rows(coats)[0]).endswith(f"{part}, castings 1–3, 7–8, from 7 on")


def test_a_wait_longer_than_a_go_of_the_dryer_says_so_where_it_is_at_hand() -> None:
    plan = make_plan(size=Size(2, 6, 3, 1))
    dry = tuple(replace(d, dryer_hand_min=3.0) for d in plan.dry)
    plan = replace(plan, room=replace(plan.room, dryer=True), dry=dry)
    for start, told in (
        (30, "Wait 25 min: the paint dries, or use the hair dryer"),
        (8, "Wait 3 min: the paint dries"),
    ):
        tasks = [Task(0, 5, 1, 1, "coat", 1, 1, "A", "head"), Task(start, 35, 1, 1, "coat", 1, 2, "A", "head")]
        assert what(plan, task_rows(tasks)[1]) == told


def test_no_dryer_is_offered_where_a_primer_from_a_can_is_drying() -> None:
    """Common practice, and on the label of every can: no hair dryer near solvents or their vapour. Primed until minute
    5 and brushed over 90 minutes later; then the wait for a second coat of paint may be cut short."""
    plan = make_plan(size=Size(2, 6, 3, 1))
    primer, *rest = (replace(d, dryer_hand_min=3.0) for d in plan.dry)
    can = replace(primer, dryer_hand_min=None, over_min=90.0)
    tasks = (
        Task(0, 5, 1, 1, "prime", part="head"),
        Task(95, 100, 1, 1, "coat", 1, 1, "A", "head"),
        Task(130, 135, 1, 1, "coat", 1, 2, "A", "head"),
    )
    plan = replace(plan, room=replace(plan.room, dryer=True), dry=(can, *rest), run=replace(plan.run, tasks=tasks))
    waits = [what(plan, row) for row in task_rows(tasks) if row.kind == "wait"]
    assert waits == ["Wait 1 h 30 min: the paint dries", "Wait 30 min: the paint dries, or use the hair dryer"]

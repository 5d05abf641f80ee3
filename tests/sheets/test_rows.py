"""The rows of the run sheet read back: every task told once, with its part, coat and castings; every pot's drops."""

import dataclasses
import itertools
import re
from collections import Counter

import pytest
from conftest import EXAMPLES
from read_back import pages
from sheet_plans import Size, make_plan

from finishplan.order.model import PassWork
from finishplan.plan.plan import Plan
from finishplan.run.model import Task, Turn
from finishplan.sheets.book import pdf_bytes
from finishplan.sheets.rows import Row, castings, task_rows, what
from finishplan.sheets.swatches import all_mixes, pot_for, pots

RUNS = {
    "one stretch": {"castings": 5, "session_min": None, "start_at": ""},
    "fewest changes, dryer": {"castings": 6, "fewest_changes": True, "dryer": True},
    "pairs, dryer": {"castings": 2, "session_min": None, "dryer": True},
    "two painters": {"castings": 7, "painters": 2},
}


@pytest.fixture(scope="module", params=["twelve in sessions", *RUNS])
def run_of_newts(request: pytest.FixtureRequest) -> Plan:
    """The newt in runs of several kinds, most with little search: what is checked is how they are told."""
    from finishplan import load_job, make_plan, read_drawing

    if request.param not in RUNS:
        return request.getfixturevalue("newt")
    job = load_job(EXAMPLES / "newt.toml")
    wish = dict(RUNS[request.param])
    room = dataclasses.replace(job.room, dryer=wish.pop("dryer", False))
    run = dataclasses.replace(job.run, search_s=0.1, **wish)
    return make_plan(read_drawing(EXAMPLES / "newt.png"), dataclasses.replace(job, run=run, room=room), cache=False)


def numbers(text: str) -> list[int]:
    """'odd 1-5, 7' spelt out."""
    out: list[int] = []
    for piece in text.split(", "):
        kind, _, span = piece.rpartition(" ")
        first, _, last = span.partition("–")
        out += range(int(first), int(last or first) + 1, 2 if kind else 1)
    return out


def parts(text: str) -> list[str]:
    return re.split(", | and ", text)


def told(plan: Plan, row: Row) -> list[tuple[str, int, int, str, int]]:
    """The (kind, pass, coat, part, casting) that the words of a row tell, in the order of its words."""
    words, lines = what(plan, row), castings(plan, row)
    found = re.search(
        r"(?:(Prime)|(After pass|Pass) (\d+), coat (\d+))(?: along the line only)?(?:: ([a-z, ]+?))?"
        r"(, (?:each )?\d+(?: to \d+)? min under the dryer(?: (first|after)(?: \(([^)]*)\))?)?)?$",
        words,
    )
    assert found, words
    kind = "prime" if found[1] else "dryer" if found[2].startswith("After") else "coat"
    film = (int(found[3] or 0), int(found[4] or 0))
    out = []
    for line in lines:
        some = re.fullmatch(r"(?:((?!odd |even )[a-z][a-z, ]*?) )?((?:odd |even )?\d.*?)(?: \(line only\))?", line)
        assert some and bool(some[1]) == (len(lines) > 1) == (not found[5]), (words, line)
        out += [(kind, *film, part, c) for part in parts(some[1] or found[5]) for c in numbers(some[2])]
    dried = []
    assert bool(found[6]) == bool(row.dried or kind == "dryer") and bool(found[7]) == bool(row.dried), words
    if found[7]:
        films = [(f[0] or film[0], f[1]) for f in re.findall(r"(?:pass (\d+), )?coat (\d+)", found[8] or "")] or [film]
        dried = [("dryer", int(no), int(coat), *piece[3:]) for piece in out for no, coat in films]
    return out + dried


def as_told(task: Task) -> tuple[str, int, int, str, int]:
    film = (task.pass_no, task.coat) if task.kind != "prime" else (0, 0)
    return task.kind, *film, task.part, task.casting


def test_every_task_is_told_once_with_its_part_coat_and_casting(run_of_newts: Plan) -> None:
    rows = task_rows(run_of_newts.run.tasks)
    words = Counter(one for row in rows for one in told(run_of_newts, row))
    assert words == Counter(as_told(t) for t in run_of_newts.run.tasks if t.kind != "change")
    kept = [t for row in rows for t in (*row.tasks, *row.dried, *([row.opening] if row.opening else []))]
    assert sorted(kept, key=repr) == sorted(run_of_newts.run.tasks, key=repr)
    apart = [len(row.groups) > 1 for row in rows]
    assert run_of_newts.run.castings < 12 or sum(apart) > 9


def test_rows_keep_the_order_of_working(run_of_newts: Plan) -> None:
    """Row after row for each painter, and within a row piece after piece of each part."""
    rows = task_rows(run_of_newts.run.tasks)
    for painter in {t.painter for t in run_of_newts.run.tasks}:
        mine = [row for row in rows if row.first.painter == painter]
        assert all(a.end_min <= b.start_min + 1e-6 for a, b in itertools.pairwise(mine))
    for row in rows:
        for names, done in row.groups:
            for part in names:
                assert tuple(t.casting for t in sorted(row.tasks, key=lambda t: t.start_min) if t.part == part) == done


def test_drops_on_the_rows_add_up_to_the_amounts(run_of_newts: Plan) -> None:
    """A pot made says its drops on the row, one still good says so; nothing is opened without either."""
    plan = run_of_newts
    names = {m.name: m.id for m in (*plan.mixes, *plan.order.extra_mixes)}
    drops: Counter[str] = Counter()
    again = 0
    for row in task_rows(plan.run.tasks):
        words = what(plan, row)
        made = re.findall(r"(?:Mix |, and )([a-z ]+), (\d+) drops?", words)
        for name, count in made:
            drops[names[name]] += int(count)
        again += "same pot" in words
        assert bool(made) or "same pot" in words or "Set up" in words or not row.opening, words
    assert drops == Counter({q.id: q.drops for q in plan.quantities if q.what == "mix"})
    assert again or plan.run.castings < 12


def test_pieces_dried_by_hand_are_one_row() -> None:
    """Drying and painting in turn, casting by casting, is told once; what dries another piece stands alone."""
    tasks = [Task(0, 4, 1, 0, "change", 2, 0, "A")]
    for c in range(1, 7):
        tasks += [
            Task(4 * c, 4 * c + 2, 1, c, "dryer", 2, 1, "A", "head"),
            Task(4 * c + 2, 4 * c + 4, 1, c, "coat", 2, 2, "A", "head"),
        ]
    tasks += [Task(40 + c, 41 + c, 1, c, "dryer", 2, 2, "A", "head") for c in (1, 2)]
    tasks += [Task(50, 51, 1, 3, "coat", 2, 3, "A", "head"), Task(51, 53, 1, 3, "dryer", 2, 3, "A", "head")]
    tasks += [Task(53, 54, 1, 4, "coat", 2, 3, "A", "head"), Task(54, 56, 1, 4, "dryer", 2, 3, "A", "head")]
    found = task_rows(tasks)
    assert [(len(r.tasks), len(r.dried), r.dried_first) for r in found] == [(6, 6, True), (2, 0, True), (2, 2, False)]
    assert found[0].opening == tasks[0] and found[2].groups == ((("head",), (3, 4)),)
    plan = make_plan(size=Size(castings=6))
    assert what(plan, found[0]).endswith("Pass 2, coat 2: head, each 2 min under the dryer first (coat 1)")
    assert what(plan, found[2]).endswith(": head, each 2 min under the dryer after")


def test_a_pass_of_two_mixes_names_both() -> None:
    plan = make_plan(size=Size(castings=2))
    first = plan.order.passes[0]
    second = dataclasses.replace(first, also_open=(plan.mixes[1].id,))
    both = dataclasses.replace(plan, order=dataclasses.replace(plan.order, passes=(second, *plan.order.passes[1:])))
    names = f"Open {plan.mixes[0].name} and {plan.mixes[1].name}"
    assert what(both, task_rows(plan.run.tasks)[0]).startswith(names)
    assert names in " ".join(p.words for p in pages(pdf_bytes(both, sheets=("run",))))


def test_a_part_is_told_the_largest_of_the_pots_that_paint_it() -> None:
    """Two pots of one mix, for the first part and days later for the second; a third turn uses the second pot up."""
    plan = make_plan(size=Size(parts=2, areas=2, mixes=1, castings=1))
    mix = plan.mixes[0]
    whole = sum(i.parts for i in mix.recipe)
    laid = dataclasses.replace(
        plan.order.passes[0], no=1, mix=mix.id, work=tuple(PassWork(i, p, 2, 1.0) for i, p in ((1, "a"), (2, "b")))
    )
    told = [(0, "a", 1, 5), (100, "a", 2, 0), (3000, "b", 1, 2), (3100, "b", 2, 0), (6000, "b", 2, 1)]
    turns = tuple(Turn(at, at + 5, 1, 1, mix.id, drops=n * whole, grams=float(n)) for at, _, _, n in told)
    tasks = tuple(Task(at, at + 5, 1, 1, "coat", 1, coat, mix.id, part) for at, part, coat, _ in told)
    run = dataclasses.replace(plan.run, tasks=tasks, turns=turns)
    here = dataclasses.replace(plan, run=run)
    (head, one), (body, two) = (pot_for(mix, here, laid, part) for part in ("a", "b"))
    assert (sum(head.drops), one) == (5 * whole, "drops")
    assert (sum(body.drops), two) == (2 * whole, f"drops for the largest of 2 pots ({whole} to {2 * whole})")


def test_the_strips_of_a_run_print_those_pots(newt: Plan, newt_pdf: bytes) -> None:
    """Some part takes less than the mix's largest pot, and its strip says the drops of its own."""
    text = {
        part.name: " ".join(p.words for p in pages(newt_pdf) if p.words.startswith(f"Painting order: {part.name} "))
        for part in newt.scheme.parts
    }
    smaller = 0
    for laid in newt.order.passes:
        for part in dict.fromkeys(w.part for w in laid.work):
            mix = all_mixes(newt)[laid.mix]
            pot, said = pot_for(mix, newt, laid, part)
            assert f"{mix.id} {mix.name} {said[0].upper()}{said[1:]}; pass" in text[part]
            smaller += pot.drops < pots(mix, newt)[1].drops
    assert smaller

"""Planning a changed job again gives what planning from scratch gives, to the byte, and computes only what it must."""

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageDraw

from finishplan import InputError, Job, Materials, Plan, Planner, load_box, make_plan, plan_json_text, read_drawing
from finishplan.job.job import AreaJob, EdgeJob, PartJob
from finishplan.job.settings import StepChange
from finishplan.paint.box import make_box

TABLE = ("titanium-white", "buff-titanium", "yellow-ochre", "pyrrole-red", "ultramarine-blue", "carbon-black")
Change = tuple[str, str | int, Any]


@pytest.fixture(scope="module")
def materials(tmp_path_factory: pytest.TempPathFactory) -> Materials:
    """Two pieces of two colours, one inside the other, and five paints of a table of six."""
    picture = Image.new("RGB", (300, 200), "white")
    pen = ImageDraw.Draw(picture)
    pen.ellipse((10, 20, 140, 180), fill="#e0a020")
    pen.ellipse((50, 70, 100, 130), fill="#206090")
    pen.rectangle((170, 60, 290, 180), fill="#508040")
    pen.rectangle((200, 90, 250, 150), fill="#c03030")
    path = tmp_path_factory.mktemp("planner") / "pieces.png"
    picture.save(path)
    table = load_box(None, None, None).table
    paints = tuple(p for p in table.paints if p.id in TABLE)
    return Materials(
        read_drawing(path), make_box(replace(table, paints=paints), tuple(p for p in paints if p.id != "buff-titanium"))
    )


def in_section(section: str, /, **values: st.SearchStrategy[Any]) -> st.SearchStrategy[Change]:
    return st.one_of(*(st.tuples(st.just(section), st.just(key), value) for key, value in values.items()))


def of_area(**values: st.SearchStrategy[Any]) -> st.SearchStrategy[Change]:
    changes = (st.tuples(st.just(key), value) for key, value in values.items())
    return st.tuples(st.just("areas"), st.integers(1, 4), st.one_of(*changes))


CHANGES = st.one_of(
    in_section("figure", name=st.just("Newt"), height_mm=st.sampled_from([40.0, 90.0]), finish=st.just("matt")),
    in_section(
        "paints",
        max_paints=st.integers(2, 3),
        within=st.sampled_from([0.0, 20.0]),
        kind=st.just("heavy-body"),
        drop_ml=st.just(0.03),
    ),
    in_section(
        "method",
        primer=st.sampled_from(["white", "black"]),
        tool=st.just("airbrush"),
        coat_um=st.just(30.0),
        least_coats=st.just(3),
    ),
    in_section("method", primer_wait_min=st.sampled_from([10.0, 300.0])),
    in_section("labour", turn_min=st.just(1.5), stroke_mm_s=st.just(12.0)),
    in_section("room", temperature_c=st.sampled_from([12.0, 30.0]), dryer=st.booleans()),
    in_section(
        "run",
        castings=st.integers(1, 6),
        painters=st.just(2),
        session_min=st.sampled_from([None, 45.0, 400.0]),
        fewest_changes=st.booleans(),
        start_at=st.just("19:00"),
    ),
    st.tuples(st.just("steps"), st.sampled_from(["prime", "varnish", "hold", "none-such"]), st.just(None)),
    st.tuples(st.just("parts"), st.just("part A"), st.integers(1, 2)),
    st.tuples(st.just("edges"), st.just("1-2"), st.sampled_from([1, 2])),
    of_area(
        name=st.sampled_from(["", "hood", "rim"]),
        target=st.sampled_from(["#e0a020", "#204060", "#00ff00", "#f2dcd8"]),
        flags=st.sampled_from([(), ("bare",), ("recess",), ("dot",)]),
        mix=st.just("shared"),
    ),
)
"""One change of a job: the section, the key or the number of the area, the new value."""


def changed(job: Job, change: Change) -> Job:
    section, key, value = change
    if section == "areas":
        name, new = value
        return replace(job, areas=job.areas | {key: replace(job.areas.get(key, AreaJob()), **{name: new})})
    if section == "steps":
        return replace(job, steps=replace(job.steps, changes={**job.steps.changes, key: StepChange(skip=True)}))
    if section == "parts":
        return replace(job, parts=job.parts | {key: PartJob(copies=value)})
    if section == "edges":
        return replace(job, edges=job.edges | {(1, 2): EdgeJob(first=value)})
    return replace(job, **{section: replace(getattr(job, section), **{key: value})})


def from_scratch(materials: Materials, job: Job) -> Plan:
    return make_plan(materials.drawing, job, materials.box, cache=False)


def written(plan: Callable[[Job], Plan], job: Job) -> str:
    """plan.json, or how the job is refused."""
    try:
        return plan_json_text(plan(job))
    except InputError as error:
        return str(error)


@settings(max_examples=8, deadline=None)
@given(st.lists(CHANGES, min_size=1, max_size=4))
def test_as_from_scratch(materials: Materials, changes: list[Change]) -> None:
    job = replace(Job(), run=replace(Job().run, search_s=0.01))
    planner = Planner(materials, cache=False)
    for change in changes:
        job = changed(job, change)
        assert written(planner.plan, job) == written(partial(from_scratch, materials), job)


def test_a_quick_run_first_then_the_searched_one(materials: Materials) -> None:
    job = replace(Job(), run=replace(Job().run, castings=3, search_s=0.05))
    unsearched = replace(job, run=replace(job.run, search_s=0.0))
    planner = Planner(materials, cache=False)
    told = {"advice": (), "advice_figures": None, "hints": ()}
    assert planner.run(job, quick=True) == replace(planner.run(unsearched), **told)
    assert planner.run(job) == from_scratch(materials, job).run


@pytest.mark.parametrize(
    ("change", "anew"),
    [
        (("areas", 1, ("name", "hood")), set()),
        (("run", "session_min", 400.0), {"run"}),
        (("room", "temperature_c", 25.0), {"run"}),
        (("labour", "turn_min", 3.0), {"run"}),
        (("run", "castings", 2), {"run"}),
        (("method", "least_coats", 3), {"order", "run"}),
        (("areas", 1, ("target", "#204060")), {"mixes", "order", "run"}),
    ],
)
def test_only_what_hangs_on_the_change(
    materials: Materials, monkeypatch: pytest.MonkeyPatch, change: Change, anew: set[str]
) -> None:
    """By what is called again: names are written in afterwards; room, labour and castings weigh primers and undercoats
    whose orders are known."""
    from finishplan.order import over_primer
    from finishplan.plan import stages
    from finishplan.run import schedule

    calls = set[str]()

    def counted(name: str, function: Callable[..., Any]) -> Callable[..., Any]:
        return lambda *given, **named: (calls.add(name), function(*given, **named))[1]

    for module, name, called in (
        (stages, "choose", "mixes"),
        (stages, "order_inputs", "order"),
        (over_primer, "solve", "order"),
        (over_primer, "Laying", "order"),
        (schedule, "solve_both_ways", "run"),
    ):
        monkeypatch.setattr(module, name, counted(called, getattr(module, name)))
    job = replace(Job(), run=replace(Job().run, search_s=0.0))
    planner = Planner(materials, cache=False)
    planner.plan(job)
    assert calls == {"mixes", "order", "run"}
    calls.clear()
    planner.plan(changed(job, change))
    assert calls == anew


def test_the_makers_own_drop_counts_everywhere(materials: Materials) -> None:
    """Pots of whole drops, of 0.03 ml as of 0.05, and more drops of the smaller."""
    of = {ml: replace(Job(), paints=replace(Job().paints, drop_ml=ml)) for ml in (0.05, 0.03)}
    pots = {
        ml: [q for q in Planner(materials).plan(job, quick=True).quantities if q.what == "mix"]
        for ml, job in of.items()
    }
    for ml, mixes in pots.items():
        assert mixes and all(q.ml_run == pytest.approx(ml * q.drops) for q in mixes)
    assert sum(q.drops for q in pots[0.03]) > sum(q.drops for q in pots[0.05])


def test_castings_have_the_same_mixes_between_two_turns(materials: Materials) -> None:
    """A pale colour takes a pre-mix, but where the pot of all castings is next to nothing: as from scratch on both
    sides of the turn."""
    small = replace(Job(), figure=replace(Job().figure, height_mm=40.0))
    speck = changed(small, ("areas", 2, ("target", "#f2dcd8")))
    planner = Planner(materials, cache=False)
    turns = planner.mixes(speck).turns
    assert turns and min(turns) > 1
    for castings in (turns[0] - 1, turns[0], turns[0] + 7):
        job = replace(speck, run=replace(speck.run, castings=castings))
        fresh = Planner(materials, cache=False).mixes(job)
        assert [m.recipe for m in planner.mixes(job).mixes] == [m.recipe for m in fresh.mixes]
        assert planner.mixes(job).turns == fresh.turns

"""The whole plan: everything a sheet prints, complete, and the pipeline that makes it, top to bottom."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from finishplan.amounts.model import Quantity
from finishplan.amounts.quantities import quantities, turns
from finishplan.basics.assumption import Assumption
from finishplan.basics.errors import InputError, nearest
from finishplan.basics.words import listed
from finishplan.bench.model import Step
from finishplan.bench.safety import plan_cautions
from finishplan.bench.steps import finishing_steps
from finishplan.drawing.model import Drawing
from finishplan.drying.kinds import paint_kind, paint_kinds
from finishplan.drying.model import DryTimes
from finishplan.drying.times import dry_times, room_warnings
from finishplan.job.job import Job, job_path
from finishplan.job.settings import Labour, Method, Room, RunSettings, StepChange
from finishplan.order.model import PaintingOrder, Pass
from finishplan.order.order import paint_order
from finishplan.paint.additions import additions_note
from finishplan.paint.box import box_warnings, load_box
from finishplan.paint.cache import keep
from finishplan.paint.mixing import MixSettings, find_mixes
from finishplan.paint.model import Box, Mix
from finishplan.paint.search import first_recipes
from finishplan.paint.shelf import make_shelf
from finishplan.plan.assumptions import assumptions, drawn_as, plan_notes, plan_warnings
from finishplan.run.films import film_ml
from finishplan.run.model import Run
from finishplan.run.schedule import schedule
from finishplan.run.tasks import run_problem
from finishplan.scheme.build import build_scheme, mesh_warnings, named
from finishplan.scheme.model import Scheme

PLAN_VERSION = 1
USUAL_COATS = 3
"""Counted for what a colour needs before its coats are known."""
Tell = Callable[[str, float], None]


@dataclass(frozen=True, eq=False)
class Plan:
    """A finished plan. mix_of: (area id, index into mixes) pairs; bare areas have none. date: as the maker wrote it.
    dry: primer first, then the paint, then the varnish. warnings: what the maker should mend before painting."""

    date: str
    finish: str
    drawing: Drawing
    scheme: Scheme
    box: Box
    method: Method
    labour: Labour
    room: Room
    run_settings: RunSettings
    mixes: tuple[Mix, ...]
    mix_of: tuple[tuple[int, int], ...]
    order: PaintingOrder
    dry: tuple[DryTimes, ...]
    steps: tuple[Step, ...]
    run: Run
    quantities: tuple[Quantity, ...]
    assumptions: tuple[Assumption, ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
    warnings: tuple[str, ...] = ()


def make_plan(
    drawing: Drawing,
    job: Job | None = None,
    box: Box | None = None,
    *,
    meshes: Mapping[str, float] | None = None,
    cache: bool = True,
    tell: Tell = lambda stage, share: None,
    drafted: Callable[["Plan"], object] = lambda plan: None,
) -> Plan:
    """The plan of a drawing, top to bottom: scheme, mixes, order with coats, drying, steps, run, quantities.

    job: what the maker says, None: all defaults. box: the paints owned, None: those the job names, or the starter
    box. meshes: surface in cm2 of the parts whose job names one. cache: keep the box's computed recipes on disk.
    tell: called with (stage, share done 0-1). drafted: called while the run is scheduled, with the plan that still
    lacks run and quantities. Raises InputError when job and drawing do not fit, or no plan is possible.
    """
    said = job or Job()
    job = _resolved(said)
    if box is None:
        table = job_path(job, job.paints.table, "paints.table")
        box = load_box(table, job.paints.own, job_path(job, job.paints.file, "paints.file"))
    scheme = build_scheme(drawing, job, meshes)
    tell("choosing the mixes", 0.2)
    settings = _mix_settings(job, cache)
    dry = _dry(job)
    mixes, mix_of = _mixes(scheme, job, box, settings, dry[1].wet_um)
    scheme = named(scheme, {id: mixes[i].name for id, i in mix_of.items() if mixes[i].reachable})
    asked = {mixes[mix_of[a.id]].id for a in scheme.areas if a.mix and a.id in mix_of}
    tell("ordering the passes", 0.4)
    order = paint_order(
        scheme,
        mixes,
        mix_of,
        box,
        job.method,
        job.labour,
        job.run.castings,
        job.figure.finish,
        job.steps.primer_coats,
        wait_min=0.0 if job.run.fewest_changes else _wait_min(job, dry[1]) * job.run.painters,
        sticks=not job.steps.changes.get("hold", StepChange()).skip,
    )
    order = replace(order, passes=tuple(_timed(p, job, dry[1]) for p in order.passes))
    steps = finishing_steps(
        scheme, order, dry, job.steps, labour=job.labour, run=job.run, finish=job.figure.finish, mixes=mixes
    )
    drawn = drawn_as(scheme, mixes)
    tell("planning the run", 0.55)
    problem = run_problem(scheme, order, dry, job.labour, job.room, job.run, job.steps.primer_coats)
    draft = Plan(
        date=job.figure.date,
        finish=job.figure.finish,
        drawing=drawing,
        scheme=scheme,
        box=box,
        method=job.method,
        labour=job.labour,
        room=job.room,
        run_settings=job.run,
        mixes=mixes,
        mix_of=tuple(sorted(mix_of.items())),
        order=order,
        dry=dry,
        steps=steps,
        run=Run(job.run.castings, job.run.painters, 0.0, 0.0, 0.0, 0.0, False, (), ()),
        quantities=(),
        assumptions=assumptions(replace(job, method=said.method), scheme, box, dry),
        cautions=plan_cautions(mixes, box, order, dry, room=job.room, pieces=sum(p.copies for p in scheme.parts)),
        notes=(),
        warnings=(
            *box_warnings(box),
            *room_warnings(job.room),
            *mesh_warnings(scheme, job, meshes or {}),
            *plan_warnings(mixes, box, additions_note(mixes, box, settings, drawn), drawn, order.extra_mixes),
        ),
    )
    run = schedule(problem, meanwhile=lambda: drafted(draft))
    run = replace(run, turns=turns(scheme, order, mixes, box, job.run, dry[1], run))
    amounts = quantities(
        scheme,
        order,
        mixes,
        box,
        job.run,
        dry,
        run=run,
        primer_coats=job.steps.primer_coats,
        varnish_coats=job.steps.varnish_coats,
        resin=job.resin,
        density_g_cm3=job.steps.density,
    )
    notes = (*plan_notes(job, drawing, scheme, mixes, asked, order, run), *_few_drops_notes(mixes, settings.reach))
    return replace(draft, run=run, quantities=amounts, notes=notes)


def recipes_ahead(job: Job, box: Box) -> bytes:
    """The recipes that any drawing asks of the box, where the disk lacks them; for `keep_recipes`."""
    settings = _mix_settings(job, cache=True)
    return first_recipes(make_shelf(box, settings), settings)


def keep_recipes(job: Job, found: bytes) -> None:
    """Keep on disk what `recipes_ahead` found."""
    keep(found, _mix_settings(job, cache=True))


def _few_drops_notes(mixes: tuple[Mix, ...], reach: float) -> tuple[str, ...]:
    few = listed([f"{m.id} {m.name}" for m in mixes if m.few_drops])
    within = f"within {reach:g} (CIEDE2000) of its aim"
    why = f"a casting takes a fraction of a drop: the recipe is that of fewest drops {within}"
    return (f"Of {few} {why}.",) if few else ()


def _mix_settings(job: Job, cache: bool) -> MixSettings:
    paints = job.paints
    return MixSettings(
        max_paints=paints.max_paints,
        max_parts=paints.max_parts,
        merge=paints.merge,
        finish=job.figure.finish,
        cache=cache,
    )


def _mixes(
    scheme: Scheme, job: Job, box: Box, settings: MixSettings, wet_um: float
) -> tuple[tuple[Mix, ...], dict[int, int]]:
    """The mixes, and the mix of each area that is painted. wet_um: of one coat."""
    painted = [a for a in scheme.areas if "bare" not in a.flags]
    if not painted:
        raise InputError("every area is left bare", where=f"{job.file}: areas", cure="take the flag 'bare' off one")
    mixes, which = find_mixes(
        [a.target for a in painted],
        box,
        settings,
        [a.mix for a in painted],
        needs=[USUAL_COATS * film_ml(a.cm2, wet_um) for a in painted],
    )
    return mixes, {a.id: i for a, i in zip(painted, which, strict=True)}


def _resolved(job: Job) -> Job:
    """The job with the films of its paint in numbers, and with no coats of what its steps leave out."""
    kinds = {"paints.kind": job.paints.kind or "acrylic", "method.primer_kind": job.method.primer_kind}
    for key, kind in (kinds | {"method.varnish_kind": job.method.varnish_kind}).items():
        use = key.split(".")[1].removesuffix("_kind")
        fits = [
            k for k, row in paint_kinds().items() if (use in k if use != "kind" else not row.sprayed and "-" not in k)
        ]
        fits += ["heavy-body"] if use == "kind" else []
        if kind not in fits:
            raise InputError(f"'{kind}' will not do here", where=f"{job.file}: {key}", cure=nearest(kind, fits))
    left_out = {key for key, change in job.steps.changes.items() if change.skip}
    return replace(
        job,
        method=replace(
            job.method,
            coat_um=job.method.coat_um or paint_kind(kinds["paints.kind"]).dry_um,
            spray_um=job.method.spray_um or paint_kind("airbrush").dry_um,
        ),
        steps=replace(
            job.steps,
            primer_coats=0 if "prime" in left_out else job.steps.primer_coats,
            varnish_coats=0 if "varnish" in left_out else job.steps.varnish_coats,
        ),
    )


def _dry(job: Job) -> tuple[DryTimes, ...]:
    """Drying of one coat of the primer, of the brushed paint and of the varnish."""
    return (
        dry_times(job.method.primer_kind, None, job.room, dryer=False),
        dry_times(job.paints.kind or "acrylic", job.method.coat_um, job.room, own=job.paints.dry),
        dry_times(job.method.varnish_kind, None, job.room, dryer=False),
    )


def _wait_min(job: Job, paint: DryTimes) -> float:
    """From one coat to the next, under the hair dryer where there is one."""
    if job.room.dryer and paint.dryer_hand_min is not None:
        return paint.dryer_hand_min + paint.dryer_rest_min
    return paint.recoat_min


def _timed(one: Pass, job: Job, brushed: DryTimes) -> Pass:
    """The pass with film and waits of its tool: a sprayed film is thinner and leaner in water than a brushed one."""
    sprayed = one.tool == "airbrush"
    dry = dry_times("airbrush", job.method.spray_um, job.room, own=job.paints.dry) if sprayed else brushed
    return replace(one, touch_dry_min=dry.touch_dry_min, recoat_min=dry.recoat_min, wet_um=dry.wet_um)

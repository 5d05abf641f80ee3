"""The whole plan: everything a sheet prints, complete, and the pipeline that makes it, top to bottom."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from finishplan.build import build_scheme, named
from finishplan.drawing.model import Drawing
from finishplan.errors import InputError
from finishplan.finish.model import Labour, Method, PaintingOrder, Pass
from finishplan.finish.order import paint_order
from finishplan.job import Job
from finishplan.paint.additions import additions_note
from finishplan.paint.box import load_box
from finishplan.paint.mixing import MixSettings, find_mixes
from finishplan.paint.model import Box, Mix
from finishplan.run.drying import dry_times, room_warnings
from finishplan.run.model import Assumption, DryTimes, Quantity, Room, Run, RunSettings, Step
from finishplan.run.quantities import quantities
from finishplan.run.safety import plan_cautions
from finishplan.run.schedule import schedule
from finishplan.run.steps import finishing_steps
from finishplan.run.tasks import run_problem
from finishplan.scheme import Scheme
from finishplan.trace import assumptions, plan_notes, plan_warnings

PLAN_VERSION = 1
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
) -> Plan:
    """The plan of a drawing, top to bottom: scheme, mixes, order with coats, drying, steps, run, quantities.

    job: what the maker says, None: all defaults. box: the paints owned, None: the starter box. meshes: surface in cm2
    of the parts whose job names one. cache: keep the box's computed recipes on disk. tell: called with (stage, share
    done 0-1). Raises InputError when job and drawing do not fit, or no plan is possible.
    """
    job = job or Job()
    box = box or load_box(None, job.paints.own, None)
    scheme = build_scheme(drawing, job, meshes)
    tell("choosing the mixes", 0.2)
    settings = _mix_settings(job, cache)
    mixes, mix_of = _mixes(scheme, job, box, settings)
    scheme = named(scheme, {id: mixes[i].name for id, i in mix_of.items()})
    tell("ordering the passes", 0.4)
    order = paint_order(scheme, mixes, mix_of, box, job.method, job.labour, job.run.castings, job.figure.finish)
    dry = _dry(job)
    order = replace(order, passes=tuple(_timed(p, job, dry[1]) for p in order.passes))
    steps = finishing_steps(
        scheme, order, dry, job.steps, labour=job.labour, run=job.run, finish=job.figure.finish, mixes=mixes
    )
    tell("planning the run", 0.55)
    problem = run_problem(scheme, order, dry, job.labour, job.room, job.run, job.steps.primer_coats)
    run = schedule(problem)
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
    )
    return Plan(
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
        run=run,
        quantities=amounts,
        assumptions=assumptions(job, scheme, box, dry),
        cautions=plan_cautions(mixes, box, order, dry, room=job.room, pieces=sum(p.copies for p in scheme.parts)),
        notes=plan_notes(drawing, scheme, mixes, order, run),
        warnings=(*room_warnings(job.room), *plan_warnings(mixes, additions_note(mixes, box, settings))),
    )


def _mix_settings(job: Job, cache: bool) -> MixSettings:
    paints = job.paints
    return MixSettings(
        max_paints=paints.max_paints,
        max_parts=paints.max_parts,
        merge=paints.merge,
        finish=job.figure.finish,
        cache=cache,
    )


def _mixes(scheme: Scheme, job: Job, box: Box, settings: MixSettings) -> tuple[tuple[Mix, ...], dict[int, int]]:
    """The mixes, and the mix of each area that is painted."""
    painted = [a for a in scheme.areas if "bare" not in a.flags]
    if not painted:
        raise InputError("every area is left bare", where=f"{job.file}: areas", cure="take the flag 'bare' off one")
    mixes, which = find_mixes([a.target for a in painted], box, settings, [a.mix for a in painted], screen=True)
    return mixes, {a.id: i for a, i in zip(painted, which, strict=True)}


def _dry(job: Job) -> tuple[DryTimes, ...]:
    """Drying of one coat of the primer, of the brushed paint and of the varnish."""
    brush_um = job.method.coat_um if job.method.tool == "brush" else None
    return (
        dry_times(job.method.primer_kind, None, job.room, dryer=False),
        dry_times(job.paints.kind or "acrylic", brush_um, job.room, own=job.paints.dry),
        dry_times(job.method.varnish_kind, None, job.room, dryer=False),
    )


def _timed(one: Pass, job: Job, brushed: DryTimes) -> Pass:
    """The pass with the waits of its tool: a sprayed film is thinner and leaner in water than a brushed one."""
    sprayed = one.tool == "airbrush"
    dry = dry_times("airbrush", job.method.coat_um, job.room, own=job.paints.dry) if sprayed else brushed
    return replace(one, touch_dry_min=dry.touch_dry_min, recoat_min=dry.recoat_min)

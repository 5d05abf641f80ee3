"""The stages after the reading, one function each: from what is given to the mixes, the order, the painting, the run.

Each takes frozen data and gives frozen data, reads no file, clock or global, and can be called alone. `Planner`
strings the stages together.
"""

from collections.abc import Callable
from dataclasses import replace

from finishplan.amounts.model import Quantity
from finishplan.amounts.quantities import Supplies, quantities, with_pots
from finishplan.bench.safety import plan_cautions, short_cautions
from finishplan.bench.steps import finishing_steps
from finishplan.drying.model import DryTimes
from finishplan.drying.times import room_warnings
from finishplan.job.job import Job
from finishplan.job.settings import Gloss, Method
from finishplan.order.items import order_inputs, painted_areas
from finishplan.order.model import PaintingOrder, Pass
from finishplan.order.order import order_of
from finishplan.order.over_primer import Orders
from finishplan.order.settings import OrderSettings
from finishplan.paint.additions import additions_note, additions_told, advice
from finishplan.paint.book import BookMix, book_warnings
from finishplan.paint.box import box_warnings
from finishplan.paint.mixing import Wishes, choose
from finishplan.paint.model import Box
from finishplan.paint.settings import MixSettings
from finishplan.plan.assumptions import assumptions, drawn_as, drawn_on, plan_notes, plan_warnings, run_notes
from finishplan.plan.letters import lettered
from finishplan.plan.part_passes import part_passes
from finishplan.plan.plan import Materials, Mixes, Painting, Plan
from finishplan.plan.settings import coats_dry, method_of, sprayed_dry, steps_of
from finishplan.plan.wells import wells
from finishplan.run.build import Painted, run_problem
from finishplan.run.films import film_ml
from finishplan.run.model import Run
from finishplan.run.problem import RunProblem
from finishplan.run.schedule import schedule
from finishplan.scheme.build import mesh_warnings, named
from finishplan.scheme.model import Scheme

USUAL_COATS = 3
"""Counted for what a colour needs before its coats are known."""


def choose_mixes(
    scheme: Scheme, box: Box, settings: MixSettings, wet_um: float, book: tuple[BookMix, ...] = ()
) -> Mixes:
    """The mixes of a scheme, and that of each area that is painted. wet_um: of one coat; book: the maker's proven
    mixes. Raises InputError."""
    painted = painted_areas(scheme)
    needs = [USUAL_COATS * film_ml(a.cm2, wet_um) for a in painted]
    place = {a.id: k for k, a in enumerate(painted)}
    # Colours side by side must stay apart, while strangers may share a pot: so it matters which meet.
    meet = [(place[i], place[j]) for i, j in (e.areas for e in scheme.edges) if i in place and j in place]
    leads = {name: place[id] for name, id in scheme.leads if id in place}
    groups, recipes = [a.mix for a in painted], dict(scheme.recipes)
    wishes = Wishes(groups, needs, leads, recipes, meet, book, curve=True)
    found = choose([a.target for a in painted], box, settings, wishes)
    mix_of = tuple(sorted((a.id, i) for a, i in zip(painted, found.mix_of, strict=True)))
    helps = advice(found.mixes, box, settings)
    return Mixes(found.mixes, mix_of, settings, helps, found.least, found.curve, turns=found.turns)


def with_names(scheme: Scheme, mixes: Mixes) -> Scheme:
    """The scheme with a name for every area: the maker's, else its mix's where that reaches its colour, else its
    colour's."""
    return named(scheme, {id: mixes.mixes[i].name for id, i in mixes.mix_of if mixes.mixes[i].reachable})


def known_orders(scheme: Scheme, mixes: Mixes, box: Box, method: Method, finish: Gloss) -> Orders:
    """What the order of the passes hangs on, and the orders found in it so far: none. Raises InputError."""
    return Orders(order_inputs(scheme, (mixes.mixes, dict(mixes.mix_of)), box, method, finish))


def order_passes(scheme: Scheme, mixes: Mixes, box: Box, settings: OrderSettings) -> PaintingOrder:
    """Primer, passes, coats and edges of one casting; `plan_painting` adds how long each coat dries. Raises
    InputError."""
    return order_of(known_orders(scheme, mixes, box, settings.method, settings.finish), settings)


def plan_painting(materials: Materials, scheme: Scheme, mixes: Mixes, order: PaintingOrder, job: Job) -> Painting:
    """The painting of one casting: drying, steps, cautions and what it all rests on; its mixes are lettered as they are
    opened. scheme: with names. Raises InputError where the job's steps name none that there is."""
    box, dry, settings = materials.box, coats_dry(job), steps_of(job)
    # Minutes at the maker's pace from here on; what is assumed tells the minutes and the pace apart.
    labour = job.labour.paced
    # Before all that names a mix: from here on letters are those that are printed.
    mixes, order = lettered(mixes, _with_drying(order, dry[1], sprayed_dry(job)))
    figure = Painted(scheme, order, mixes.mixes, dry, settings.primer_coats)
    cautions = plan_cautions(figure, box, job.room)
    steps = finishing_steps(figure, settings, labour=labour, run=job.run, finish=job.figure.finish)
    return Painting(
        date=job.figure.date,
        finish=job.figure.finish,
        drawing=materials.drawing,
        scheme=scheme,
        box=box,
        method=method_of(job),
        labour=labour,
        room=job.room,
        run_settings=job.run,
        mix_settings=mixes.settings,
        mixes=mixes.mixes,
        mix_of=mixes.mix_of,
        least_mixes=mixes.least,
        pots_within=mixes.curve,
        order=order,
        dry=dry,
        steps=steps,
        assumptions=assumptions(job, scheme, box, dry),
        cautions=cautions,
        cautions_short=short_cautions(cautions),
        part_passes=part_passes(scheme, order, steps),
        warnings=_warnings(materials, scheme, mixes, order, job),
        additions=additions_told(mixes.additions, drawn_on(scheme)),
    )


def _warnings(materials: Materials, scheme: Scheme, mixes: Mixes, order: PaintingOrder, job: Job) -> tuple[str, ...]:
    """What the maker should mend before painting."""
    drawn = drawn_as(scheme, mixes.mixes)
    additions = additions_note(mixes.additions, drawn)
    return (
        *box_warnings(materials.box),
        *book_warnings(materials.book, materials.box),
        *room_warnings(job.room),
        *scheme.warnings,
        *mesh_warnings(scheme, job, materials.meshes),
        *plan_warnings(mixes.mixes, materials.box, additions, drawn, order.extra_mixes),
    )


def _with_drying(order: PaintingOrder, brushed: DryTimes, sprayed: DryTimes) -> PaintingOrder:
    """The order whose passes say how long a coat of theirs dries."""

    def dried(one: Pass) -> Pass:
        # Sprayed films are thinner and have lost water on the way.
        dry = sprayed if one.tool == "airbrush" else brushed
        return replace(one, touch_dry_min=dry.touch_dry_min, recoat_min=dry.recoat_min, wet_um=dry.wet_um)

    return replace(order, passes=tuple(dried(p) for p in order.passes))


def problem_of(painting: Painting) -> RunProblem:
    """What is to be scheduled. Raises InputError for hours too short for one coat."""
    return run_problem(_painted(painting), painting.labour, painting.room, painting.run_settings)


def _painted(painting: Painting) -> Painted:
    p = painting
    return Painted(p.scheme, p.order, p.mixes, p.dry, p.order.primer.coats)


def plan_run(painting: Painting, scheduled: Callable[[RunProblem], Run] = schedule) -> Run:
    """The run of all castings, with its pots and every turn to them. scheduled: what searches. Raises InputError."""
    run = scheduled(problem_of(painting))
    drop_ml = painting.mix_settings.drop_ml
    return with_pots(_painted(painting), painting.box, painting.run_settings, run, drop_ml)


def plan_amounts(painting: Painting, run: Run, job: Job) -> tuple[Quantity, ...]:
    """How much of everything the run takes. Raises InputError."""
    steps = steps_of(job)
    supplies = Supplies(steps.varnish_coats, job.resin, steps.density, painting.mix_settings.drop_ml)
    return quantities(_painted(painting), painting.box, painting.run_settings, run, supplies)


def whole_plan(painting: Painting, run: Run, amounts: tuple[Quantity, ...]) -> Plan:
    """The painting with its run and amounts."""
    made = wells(painting, run, amounts)
    notes, of_run = plan_notes(painting, run), run_notes(run)
    # A plan is its painting with more fields: one that is added there is here without a word.
    return Plan(**vars(painting), run=run, quantities=amounts, wells=made, notes=notes, run_notes=of_run)

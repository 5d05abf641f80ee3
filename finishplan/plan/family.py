"""Several figures on one bench: one set of mixes under one set of letters, and one run of all their castings."""

from collections.abc import Callable, Container, Sequence
from dataclasses import dataclass, replace

from finishplan.amounts.model import Quantity
from finishplan.amounts.quantities import in_drops
from finishplan.basics.errors import InputError
from finishplan.colour.lab import Lab
from finishplan.colour.light import hex_from_lab
from finishplan.job.job import Job
from finishplan.order.items import painted_areas
from finishplan.paint.additions import advice
from finishplan.paint.mixing import Wishes, choose, letters
from finishplan.paint.model import Box, Mix
from finishplan.paint.settings import MixSettings
from finishplan.plan.area_marks import with_marks
from finishplan.plan.plan import Mixes, Painting, Plan
from finishplan.plan.planner import Planner
from finishplan.plan.settings import coats_dry, mix_settings
from finishplan.plan.stages import USUAL_COATS, problem_of
from finishplan.plan.wells import wells
from finishplan.run.films import film_ml, laid_ml
from finishplan.run.model import Run
from finishplan.run.problem import RunProblem, joined
from finishplan.run.schedule import schedule
from finishplan.scheme.model import Scheme, SchemeArea


@dataclass(frozen=True, eq=False)
class Family:
    """What figures share. mixes: lettered from light to dark; of: for each figure those it uses; least: so many mixes
    are needed at any rate; curve: (tolerance, pots) pairs."""

    mixes: tuple[Mix, ...]
    of: tuple[Mixes, ...]
    least: int
    curve: tuple[tuple[float, int], ...]


def family_mixes(figures: Sequence[tuple[Planner, Job]]) -> Family:
    """The fewest mixes for all figures together, by the box, the book and the paint settings of the first; from now on
    each planner plans with its share of them. Raises InputError."""
    first, job = figures[0]
    # What a casting needs is counted for the figure with most of them; the others need so much less of each.
    most = max(j.run.castings for _, j in figures)
    settings = replace(mix_settings(job, first.cache), castings=most)
    schemes = []
    for planner, own in figures:
        # One bench has one box and one book: those of the first.
        planner.materials = replace(planner.materials, box=first.materials.box, book=first.materials.book)
        schemes.append(with_marks(planner.scheme(own)))
    castings = [j.run.castings / most for _, j in figures]
    drawn, wishes = _wishes(schemes, castings, coats_dry(job)[1].wet_um)
    found = choose(drawn, first.materials.box, settings, replace(wishes, book=first.materials.book, curve=True))
    # No order of passes fits all figures, so letters run from light to dark, as each of them is painted.
    order = sorted(range(len(found.mixes)), key=lambda k: (-found.mixes[k].lab[0], k))
    place = {k: n for n, k in enumerate(order)}
    mixes = tuple(replace(found.mixes[k], id=letters(n)) for n, k in enumerate(order))
    shares, start = list[Mixes](), 0
    for planner, scheme in zip((p for p, _ in figures), schemes, strict=True):
        painted = painted_areas(scheme)
        taken = [place[m] for m in found.mix_of[start : start + len(painted)]]
        start += len(painted)
        planner.share = _share(painted, taken, mixes, first.materials.box, settings)
        shares.append(planner.share)
    return Family(mixes, tuple(shares), found.least, found.curve)


def _share(
    painted: Sequence[SchemeArea], taken: Sequence[int], mixes: Sequence[Mix], box: Box, settings: MixSettings
) -> Mixes:
    """One figure's share of the mixes. taken: the place of the mix of each of its painted areas."""
    used, drawn = sorted(set(taken)), {hex_from_lab(a.target) for a in painted}
    own = tuple(_of_figure(mixes[n], drawn) for n in used)
    mix_of = tuple(sorted((a.id, used.index(n)) for a, n in zip(painted, taken, strict=True)))
    return Mixes(own, mix_of, settings, advice(own, box, settings), len(own), shared=True)


def _of_figure(mix: Mix, drawn: Container[str]) -> Mix:
    """The mix as a figure tells it that is drawn in these colours: what it does for others is told there."""
    own = [(hex, off) for hex, off in zip(mix.merged_hex, mix.merged_off, strict=True) if hex in drawn]
    missed = tuple(m for m in mix.missed if m.hex in drawn)
    return replace(mix, merged_hex=tuple(h for h, _ in own), merged_off=tuple(o for _, o in own), missed=missed)


def _wishes(schemes: Sequence[Scheme], castings: Sequence[float], wet_um: float) -> tuple[list[Lab], Wishes]:
    """The colours of all figures one after another, what is needed of each, which meet, and the makers' own recipes.
    castings: of each figure, as a share of the most. Raises InputError where two figures tell a mix differently."""
    groups: list[str | None] = []
    drawn, needs, meet = list[Lab](), list[float](), list[tuple[int, int]]()
    recipes: dict[str, tuple[tuple[str, int], ...]] = {}
    leads: dict[str, int] = {}
    for scheme, count in zip(schemes, castings, strict=True):
        painted = painted_areas(scheme)
        place = {a.id: len(drawn) + k for k, a in enumerate(painted)}
        groups += [a.mix for a in painted]
        drawn += [a.target for a in painted]
        needs += [USUAL_COATS * film_ml(a.cm2, wet_um) * count for a in painted]
        meet += [(place[i], place[j]) for i, j in (e.areas for e in scheme.edges) if i in place and j in place]
        # Of two figures that name a leading area the first has its way.
        leads = {name: place[id] for name, id in scheme.leads if id in place} | leads
        for name, recipe in scheme.recipes:
            if recipes.setdefault(name, recipe) != recipe:
                cure = "give one of the two another name"
                raise InputError(f"two figures give different recipes to '{name}'", where=f"[mixes.{name}]", cure=cure)
    return drawn, Wishes(groups, needs, leads, recipes, meet)


def family_problem(paintings: Sequence[Painting]) -> RunProblem:
    """The castings of all figures as one run at the bench of the first, see `joined`. Raises InputError."""
    # One bench has one evening, however the others' jobs set it; the rest of their settings stays their own.
    hours = paintings[0].run_settings.session_min
    alike = [replace(p, run_settings=replace(p.run_settings, session_min=hours)) for p in paintings]
    names = figure_names(paintings)
    problems = [_own_names(p, problem_of(p), name) for p, name in zip(alike, names, strict=True)]
    # Figures are primed one after the other and dry together: the work adds up, the wait does not.
    priming = sum(p.priming[0] for p in problems), max(p.priming[1] for p in problems)
    return replace(joined(problems), priming=priming)


def figure_names(paintings: Sequence[Painting]) -> list[str]:
    """What the tasks call the figures: their names, the second of one name 'Newt (2)'."""
    names = [p.scheme.name for p in paintings]
    return [f"{n} ({names[: k + 1].count(n)})" if n in names[:k] else n for k, n in enumerate(names)]


def _own_names(painting: Painting, problem: RunProblem, name: str) -> RunProblem:
    """The problem of that name, whose undercoats, which each figure letters by itself, carry their colours."""
    names = _undercoats(painting)
    figures = tuple(replace(f, name=name) for f in problem.figures)
    mixes = tuple(replace(m, name=names.get(m.name, m.name)) for m in problem.mixes)
    return replace(problem, figures=figures, mixes=mixes)


def _undercoats(painting: Painting) -> dict[str, str]:
    """What the shared run calls a figure's own undercoats: letter and colour."""
    return {m.id: f"{m.id} {m.hex}" for m in painting.order.extra_mixes}


def with_pots(paintings: Sequence[Painting], run: Run) -> Run:
    """The shared run with its pots in drops and grams, and every turn to them, by the loss of the first figure."""
    first, laid, mixes = paintings[0], dict[tuple[int, str, int, str], float](), dict[str, Mix]()
    for painting, name in zip(paintings, figure_names(paintings), strict=True):
        names = _undercoats(painting)
        own = laid_ml(painting.scheme, painting.order, painting.dry[1], first.run_settings.loss)
        laid |= {(no, f"{name}/{part}", coat, names.get(mix, mix)): ml for (no, part, coat, mix), ml in own.items()}
        mixes |= {names.get(m.id, m.id): m for m in (*painting.mixes, *painting.order.extra_mixes)}
    # Parts of two figures may have one name.
    tasks = tuple(replace(t, part=f"{t.figure or first.scheme.name}/{t.part}") for t in run.tasks)
    told = in_drops(replace(run, tasks=tasks), laid, (mixes, first.box), first.run_settings, first.mix_settings.drop_ml)
    return replace(run, pots=told.pots, turns=told.turns)


def family_run(paintings: Sequence[Painting], scheduled: Callable[[RunProblem], Run] = schedule) -> Run:
    """One run of all castings: a turn to a mix serves all that are due. Raises InputError."""
    return with_pots(paintings, scheduled(family_problem(paintings)))


def family_plan(plans: Sequence[Plan], family: Family, run: Run) -> Plan:
    """What the sheets of the shared run print, as one plan: all mixes, the run with its pots, what to buy, every
    caution. Order, steps and drawing stay those of the first figure."""
    first, own = plans[0], [m for p in plans for m in p.order.extra_mixes]
    named = {f"{m.id} {m.hex}": m for m in own}
    order = replace(first.order, extra_mixes=tuple(replace(m, id=name) for name, m in named.items()))
    drops = {q.id: q for p in plans for q in p.quantities if q.what == "mix"}
    # Figures differ in what one casting takes and in their drops; what is bought is for all.
    bought = [replace(q, ml_per_casting=0.0, drops=0) for q in shopping([p.quantities for p in plans])]
    short = tuple(dict.fromkeys(c for p in plans for c in p.cautions_short))
    full = tuple(dict.fromkeys(c for p in plans for c in p.cautions))
    one = replace(first, mixes=family.mixes, mix_of=(), order=order, run=run, quantities=tuple(bought))
    helps = tuple(f"{p.scheme.name}: {text}" for p in plans for text in p.additions)
    one = replace(one, assumptions=(), cautions=full, cautions_short=short, additions=helps)
    return replace(one, wells=wells(one, run, tuple(drops.values())))


def shopping(figures: Sequence[tuple[Quantity, ...]]) -> tuple[Quantity, ...]:
    """The paints, primer and varnish of several figures in one list; the millilitres are those of the runs apart, each
    with its own least pots, so that one run takes no more."""
    total = dict[tuple[str, str], float]()
    named = dict[tuple[str, str], Quantity]()
    for quantities in figures:
        for q in quantities:
            if q.what in ("paint", "primer", "varnish"):
                total[q.what, q.id] = total.get((q.what, q.id), 0.0) + q.ml_run
                named.setdefault((q.what, q.id), q)
    return tuple(
        q.in_all(total[key]) if q.what == "paint" else replace(q, ml_run=total[key]) for key, q in named.items()
    )

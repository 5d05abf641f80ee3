"""Laying a solved order over one primer: what each area needs on its ground, edge by edge, pass by pass."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from finishplan.basics.words import counted
from finishplan.colour.film import film
from finishplan.colour.hiding import MOST_TRIED, dabs_to_hide, full_coats
from finishplan.job.settings import Labour, Tool
from finishplan.order.area_names import listed
from finishplan.order.brushes import SPRAY_FROM_MM, broad_mm
from finishplan.order.coats import DOT_COATS, Array, Undercoat, coat_mm
from finishplan.order.edges import EdgeFacts, lap_and_edge_coats, reason, treatment
from finishplan.order.items import PRIMER, Item, Need, OrderInputs
from finishplan.order.minutes import AreaWork, cover_per_cm2, pass_minutes, run_minutes, work_minutes
from finishplan.order.model import AreaCoats, EdgeOrder, Pass, PassWork
from finishplan.order.primer import BARE, Tone
from finishplan.order.problem import Opening, OrderSolution
from finishplan.order.reasons import coats_reason
from finishplan.order.rules import TIE_L, Ruling
from finishplan.order.settings import Weights
from finishplan.paint.hazards import kept_from_spray
from finishplan.paint.model import Mix
from finishplan.scheme.model import SchemeEdge


@dataclass(frozen=True, eq=False)
class Solved:
    """An order of items, which end with the recuts, and what was given up for it: rulings recut, wishes waived, ties
    dropped, wishes refused with the reason."""

    items: tuple[Item, ...]
    solution: OrderSolution
    recut: tuple[Ruling, ...]
    waived: tuple[Ruling, ...]
    dropped: tuple[Ruling, ...]
    refused: tuple[tuple[Ruling, str], ...] = ()

    @property
    def first_recut(self) -> int:
        """The first item that is a recut: they stand behind all others, in the order of their rulings."""
        return len(self.items) - len(self.recut)

    def pass_of(self) -> dict[int, int]:
        """Item -> number of its pass, from 1."""
        return {i: no for no, o in enumerate(self.solution.openings, start=1) for i in o.items}


@dataclass(frozen=True, eq=False)
class PrimedOrder:
    """The order over one primer. minutes: painter's minutes of the run; why of its passes: of their tool alone."""

    tone: Tone
    solved: Solved
    undercoats: Mapping[Need, Undercoat]
    mixes: tuple[Mix, ...]
    passes: tuple[Pass, ...]
    edges: tuple[EdgeOrder, ...]
    coats: tuple[AreaCoats, ...]
    minutes: float
    at_least: float
    """Painter's minutes of the run if the passes were as few as is proven possible."""
    laid: int = 0
    """Coats laid on one casting, summed over the areas, undercoats included."""
    spurned: Mapping[Need, tuple[Undercoat, float]] = field(default_factory=dict)
    """Undercoats that would spare coats but cost more, and how many of the painter's minutes."""
    without: float = 0.0
    """Painter's minutes of the run without any undercoat."""


def ground_of(given: OrderInputs, tone: Tone, need: Need) -> Array:
    """(31,) internal reflectance of what a need lies on."""
    return tone.ground if need.ground == PRIMER else given.films.opaque[need.ground]


@dataclass(frozen=True, eq=False)
class Inside:
    """Coats of an area over its own ground, those that would hide it, the curve to there (CIEDE2000 from opaque after
    0, 1 ... coats), the ground's name, coats to the full colour, undercoat."""

    coats: int
    enough: int
    curve: tuple[float, ...]
    ground: str
    full: int
    bed: Undercoat | None


Insides = dict[tuple[str | None, Need, Tool, Undercoat | None], Inside]
"""By primer, where that is the ground, need, tool and undercoat."""
Overs = dict[tuple[int, int, str, int], int]
"""Coats of a mix over another's dry colour with an undercoat between, by the two and the undercoat's mix and coats."""


@dataclass(frozen=True, eq=False)
class Known:
    """What the orders over all primers share. mixes: those of the scheme, then the spare undercoats; insides, overs:
    those already found."""

    mixes: tuple[Mix, ...]
    insides: Insides = field(default_factory=dict)
    overs: Overs = field(default_factory=dict)


class Laying:
    """One order in the making: what each area needs, edge by edge and pass by pass."""

    def __init__(
        self, given: OrderInputs, tone: Tone, undercoats: Mapping[Need, Undercoat], solved: Solved, known: Known
    ) -> None:
        self.given, self.tone, self.undercoats, self.solved = given, tone, undercoats, solved
        self.mixes, self.insides, self.overs = known.mixes, known.insides, known.overs
        self.pass_of = solved.pass_of()
        self.lays = {
            i: k for k, item in enumerate(solved.items) if item.kind not in ("undercoat", "recut") for i in item.areas
        }
        self.beds = {item.areas[0]: k for k, item in enumerate(solved.items) if item.kind == "undercoat"}
        self.rulings = {r.edge.areas: r for r in given.rulings if r.edge is not None}
        numbers = range(1, len(solved.solution.openings) + 1)
        broad = [no for no in numbers if self._broad(no)]
        self.kept_from_spray = {no: metals for no in broad if (metals := self._metals(no))}
        self.sprayed = {no for no in broad if no not in self.kept_from_spray}
        self.inside = {i: self._inside(i) for i in given.order}
        self.facts = {e.areas: self._edge_facts(e) for e in given.scheme.edges}
        self.edge_coats: dict[int, int] = {}
        self.edges = tuple(self._edge(self.facts[e.areas]) for e in given.scheme.edges)

    def primed(self, weights: Weights) -> PrimedOrder:
        """What was found, with its passes and the painter's minutes."""
        openings = enumerate(self.solved.solution.openings, start=1)
        passes = tuple(self._pass(no, o, weights.labour) for no, o in openings)
        minutes = run_minutes(passes, weights.castings, weights.labour, weights.wait_min)
        # Only the turns are taken off: with fewer passes the same coats would be laid.
        at_least = minutes - (len(passes) - self.solved.solution.bound) * weights.labour.turn_min
        laid = sum(w.coats for p in passes for w in p.work)
        return PrimedOrder(
            self.tone, self.solved, self.undercoats, self.mixes, passes, self.edges, self.coats, minutes, at_least, laid
        )

    @cached_property
    def coats(self) -> tuple[AreaCoats, ...]:
        """The coats of every painted area."""
        return tuple(self._area_coats(i) for i in sorted(self.given.order))

    def tool(self, no: int) -> Tool:
        """What pass `no`, from 1, is laid with."""
        return "airbrush" if no in self.sprayed else "brush"

    def _inside(self, area: int) -> Inside:
        """The coats of an area over its primer, its undercoat or the colour it is set on."""
        need, tool = self.given.need(area), self.tool(self.pass_of[self.lays[area]])
        bed = self.undercoats.get(need) if self.given.kind[area] != "blend" else None
        # The primer counts only where it is the ground: what lies on a colour is found once for all primers.
        key = self.tone.name if need.ground == PRIMER else None, need, tool, bed
        if key not in self.insides:
            self.insides[key] = self._found_inside(need, tool, bed)
        return self.insides[key]

    def _found_inside(self, need: Need, tool: Tool, bed: Undercoat | None) -> Inside:
        given, dot = self.given, need.dot
        thick = DOT_COATS if dot else 1.0
        mm = thick * coat_mm(given.method, tool)
        ground = ground_of(given, self.tone, need)
        name = self.tone.name if need.ground == PRIMER else given.mixes[need.ground].id
        if bed is not None:
            ground = film(bed.by.K, bed.by.S, bed.coats * thick * coat_mm(given.method, "brush"), ground)
            name = bed.by.id
        own = given.films.one(need.mix)
        curves = own.curves(ground[None], mm)
        curve = curves[0, 0]
        enough = min(int((dabs_to_hide(curves) if dot else own.hiding(curves, ground[None], mm))[0, 0]), MOST_TRIED)
        coats = max(enough, need.least)
        shown = tuple(round(float(v), 3) for v in curve[: coats + 1])
        return Inside(coats, enough, shown, name, int(full_coats(curve)), bed)

    def _edge_facts(self, edge: SchemeEdge) -> EdgeFacts:
        given, ruling = self.given, self.rulings.get(edge.areas)
        a, b = edge.areas
        painted = [i for i in (a, b) if i in given.mix_of]
        first, second = self._sides(edge, ruling)
        both = len(painted) == 2
        m1, m2 = (given.mix_of.get(i, -1) for i in (first, second))
        differ = both and m1 != m2
        wet = both and differ and self.lays[a] == self.lays[b]
        return EdgeFacts(
            first=given.areas[first],
            second=given.areas[second],
            edge=edge,
            ruling=ruling,
            kept=ruling is None or ruling.first == first,
            recut=ruling in self.solved.recut if ruling is not None else False,
            dot=differ and given.kind[second] == "dot",
            wet=wet,
            bare=not both,
            over=self._over(first, second) if differ and not wet else None,
            inside=self.inside[second].coats if second in self.inside else 0,
            apart=float(given.apart[m1, m2]) if both else 0.0,
            lighter_last=both and float(given.seen[m2, 0] - given.seen[m1, 0]) >= TIE_L,
        )

    def _over(self, first: int, second: int) -> int:
        """Coats of the second's mix over the first's dry colour, its own undercoat between if that comes later."""
        given, m1, m2 = self.given, self.given.mix_of[first], self.given.mix_of[second]
        bed, laid = self.inside[second].bed, self.beds.get(second)
        # Laid before the first colour, the undercoat ends under it: at the line that colour is the ground.
        if bed is None or laid is None or self.pass_of[laid] <= self.pass_of[self.lays[first]]:
            return int(given.over[m2, m1])
        key = m2, m1, bed.by.id, bed.coats
        if key not in self.overs:
            mm = coat_mm(given.method, "brush")
            ground = film(bed.by.K, bed.by.S, bed.coats * mm, given.films.opaque[m1])
            self.overs[key] = int(given.films.one(m2).coats(ground[None], mm)[0, 0])
        return self.overs[key]

    def _sides(self, edge: SchemeEdge, ruling: Ruling | None) -> tuple[int, int]:
        """(first, second) as they are really laid; a bare side is there before all."""
        a, b = edge.areas
        place = {i: self.pass_of[self.lays[i]] if i in self.lays else 0 for i in (a, b)}
        if place[a] != place[b]:
            return (a, b) if place[a] < place[b] else (b, a)
        if ruling is not None:
            return ruling.first, ruling.second
        big, small = sorted((a, b), key=lambda i: (-self.given.areas[i].cm2, i))
        return big, small

    def _edge(self, facts: EdgeFacts) -> EdgeOrder:
        treat = treatment(facts)
        lap_mm, extra = lap_and_edge_coats(facts, treat, self.given.method.lap_mm, self.given.method.max_coats)
        second = facts.second.id
        if treat == "recut":
            extra = 0
        elif extra:
            self.edge_coats[second] = max(self.edge_coats.get(second, 0), extra)
        nothing = facts.bare and second not in self.lays
        return EdgeOrder(
            areas=facts.edge.areas,
            first=facts.first.id,
            second=second,
            treat=treat,
            length_mm=facts.edge.length_mm,
            why="both sides stay bare" if nothing else reason(facts, treat, lap_mm, extra),
            lap_mm=lap_mm,
            reversed_rule=facts.lighter_last or facts.recut or not facts.kept,
            rule="same" if facts.ruling is None else facts.ruling.rule,
            pass_no=0 if nothing else self._settled_in(facts, treat),
            tie="" if facts.ruling is None else facts.ruling.tie,
        )

    def _settled_in(self, facts: EdgeFacts, treat: str) -> int:
        if treat == "recut" and facts.ruling is not None:
            return self.pass_of[self.solved.first_recut + self.solved.recut.index(facts.ruling)]
        return self.pass_of[self.lays[facts.second.id]]

    def _items(self, no: int) -> list[Item]:
        """What pass `no` lays."""
        return [self.solved.items[k] for k in self.solved.solution.openings[no - 1].items]

    def _broad(self, no: int) -> bool:
        """Whether pass `no` is broad enough to spray, and sprayed if it may be: a maker who says airbrush wants the
        broad passes sprayed, for their smooth coat; only those are."""
        items = self._items(no)
        if self.given.method.tool != "airbrush" or any(i.kind not in ("colour", "undercoat") for i in items):
            return False
        wide = all(self.given.areas[i].wide_mm >= SPRAY_FROM_MM for item in items for i in item.areas)
        return wide and not any(len(i.areas) > 1 for i in items)

    def _spray_saves(self, no: int, labour: Labour) -> float:
        """Painter's minutes a casting that spraying pass `no` spares, masks and thinner coats counted, below 0 where it
        takes more. Two brush coats are taken for every area."""
        given = self.given
        areas = [given.areas[i] for item in self._items(no) for i in item.areas]
        # A sprayed coat is thinner, so two brush coats are taken for more than two of them.
        more = 2 * (coat_mm(given.method, "brush") / coat_mm(given.method, "airbrush") - 1)
        cm2 = sum(a.cm2 for a in areas)
        brushed = sum(a.cm2 * cover_per_cm2(labour, broad_mm(a)) for a in areas)
        covering = 2 * brushed - (2 + more) * cm2 * labour.spray_per_cm2_min
        parts = dict.fromkeys(a.part for a in areas)
        masks = labour.mask_min * sum(1 for part in parts if self._to_mask(part, no))
        return covering - masks - more * labour.handle_min * len(parts)

    def _metals(self, no: int) -> tuple[str, ...]:
        """What pass `no` lays, undercoats too, that must not be breathed: metals of its pigments, unknown pigments."""
        return kept_from_spray([self.mixes[item.mix] for item in self._items(no)], self.given.box)

    def _to_mask(self, part: str, no: int) -> bool:
        """Whether a part has anything to mask when pass `no` is sprayed: glue faces, bare or painted areas."""
        scheme = self.given.scheme
        here = next(p for p in scheme.parts if p.name == part)
        painted = {
            i
            for k, item in enumerate(self.solved.items)
            if item.part == part and self.pass_of[k] < no
            for i in item.areas
        }
        return bool(here.glue_faces or painted or any("bare" in self.given.areas[i].flags for i in here.areas))

    def _pass(self, no: int, opening: Opening, labour: Labour) -> Pass:
        tool, items = self.tool(no), self.solved.items
        work = _merged([self._work(no, k, area, labour) for k in opening.items for area in items[k].areas])
        masked = {w.part for w in work if tool == "airbrush" and self._to_mask(w.part, no)}
        work = [_with_mask(w, work, masked, labour.mask_min) for w in work]
        work.sort(key=lambda w: (w.part, w.area))
        kinds = [w.kind for w in work]
        mix = self.mixes[self.solved.items[opening.items[0]].mix]
        return Pass(
            no=no,
            kind=next(k for k in ("colour", "undercoat", "blend", "dot", "recut") if k in kinds),
            mix=mix.id,
            work=tuple(work),
            coats=max(w.coats for w in work),
            brush="",
            tool=tool,
            minutes=pass_minutes(work, labour, self.given.copies),
            edges=tuple(e.areas for e in self.edges if e.pass_no == no),
            why=(why := self._tool_reason(no, labour)),
            tool_why=why,
            also_open=tuple(dict.fromkeys(w.mix for w in work if w.mix)),
        )

    def _tool_reason(self, no: int, labour: Labour) -> tuple[str, ...]:
        if no in self.kept_from_spray:
            return (f"brushed, not sprayed: holds {listed(self.kept_from_spray[no])}",)
        return _spray_reason(self._spray_saves(no, labour)) if no in self.sprayed else ()

    def _work(self, no: int, k: int, area: int, labour: Labour) -> PassWork:
        given, facts, item = self.given, self.given.areas[area], self.solved.items[k]
        mix = self.mixes[given.mix_of[area]].id if area != item.areas[0] else ""
        edge_coats, mm = 0, 0.0
        if item.kind == "undercoat":
            brushed = self.undercoats[given.need(area)].coats
            # Its coats were counted by brush: by the gun as thick a film, in more and thinner ones.
            ratio = coat_mm(given.method, "brush") / coat_mm(given.method, self.tool(no))
            coats = round(brushed * ratio)
        elif item.kind == "recut":
            ruling = self.solved.recut[k - self.solved.first_recut]
            coats = self._recut_coats(ruling)
            mm = ruling.edge.length_mm if ruling.edge is not None else 0.0
        else:
            edge_coats = self.edge_coats.get(area, 0)
            coats = self.inside[area].coats + edge_coats
            mm = sum(e.length_mm for e in self.edges if e.second == area and e.treat in ("cut", "recut", "lap"))
        copies = given.copies.get(facts.part, 1)
        done = AreaWork(item.kind, self.tool(no), coats, edge_coats, facts.cm2, mm, copies, broad_mm(facts))
        minutes = work_minutes(done, labour)
        return PassWork(area, facts.part, coats, minutes / coats, item.kind, mix)

    def _recut_coats(self, ruling: Ruling) -> int:
        over = self.given.over[self.given.mix_of[ruling.second], self.given.mix_of[ruling.first]]
        return min(int(over), self.given.method.max_coats)

    def _area_coats(self, area: int) -> AreaCoats:
        inside, extra = self.inside[area], self.edge_coats.get(area, 0)
        bed, names = inside.bed, {m.id: m.name for m in self.mixes}
        own = "your" if self.tone.own else inside.ground
        found = AreaCoats(
            area=area,
            mix=self.given.mixes[self.given.mix_of[area]].id,
            coats=inside.coats + extra,
            curve=inside.curve,
            undercoat=bed.by.id if bed else None,
            undercoat_coats=bed.coats if bed else 0,
            saves=bed.saves if bed else 0,
            edge_only=extra > 0,
            edge_coats=extra,
            ground=inside.ground,
            full_coats=inside.full,
            enough_coats=inside.enough,
        )
        over = names.get(inside.ground, BARE if inside.ground == BARE else f"{own} primer")
        noun = "dab" if self.given.kind[area] == "dot" else "coat"
        return replace(found, why=coats_reason(found, noun, over, bed.by.name if bed else ""))


def _spray_reason(saves: float) -> tuple[str, ...]:
    minutes = counted(round(abs(saves)), "minute")
    than = f"about {minutes} a casting {'less' if saves > 0 else 'more'} than with a brush"
    return (f"broad enough to spray: {than}, masks counted",)


def _merged(work: Sequence[PassWork]) -> list[PassWork]:
    """Several recuts of one area in a pass as one entry."""
    result: dict[tuple[int, str, str], PassWork] = {}
    for w in work:
        key = (w.area, w.kind, w.mix)
        if key in result:
            had = result[key]
            coats = max(had.coats, w.coats)
            minutes = (had.coats * had.minutes + w.coats * w.minutes) / coats
            w = PassWork(w.area, w.part, coats, minutes, w.kind, w.mix)
        result[key] = w
    return list(result.values())


def _with_mask(w: PassWork, work: Sequence[PassWork], masked: set[str], mask_min: float) -> PassWork:
    """The part's masking, shared by its areas and their coats."""
    if w.part not in masked:
        return w
    share = mask_min / sum(1 for x in work if x.part == w.part) / w.coats
    return PassWork(w.area, w.part, w.coats, w.minutes + share, w.kind, w.mix)

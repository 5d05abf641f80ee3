"""Made-up plans of any size for the sheet tests: abstract shapes, seeded, complete down to the schedule."""

import string
from dataclasses import dataclass, replace

import numpy as np

from finishplan.amounts.model import Quantity
from finishplan.basics.assumption import Assumption
from finishplan.bench.model import Step
from finishplan.drawing.model import Area, Drawing, DrawnPart, Edge, PaletteColour
from finishplan.drying.model import DryTimes
from finishplan.job.settings import Labour, Method, Room, RunSettings
from finishplan.order.model import AreaCoats, Care, EdgeOrder, PaintingOrder, Pass, PassWork, Primer
from finishplan.paint.model import Box, ColourTable, Ingredient, Mix, Paint, Premix
from finishplan.paint.settings import MixSettings
from finishplan.plan.part_passes import part_passes
from finishplan.plan.plan import Plan
from finishplan.plan.wells import wells
from finishplan.run.model import Run, Session, Task
from finishplan.scheme.model import Scheme, SchemeArea, SchemeEdge, SchemePart

LONG = "the inner hem of the left sleeve just below the third button, where the lining shows"
UNBROKEN = "Lampenanzünderregenmantelkapuzeninnenfutter" * 2
ACCENTED = "Żółw płaszcz ěščřžýáíé ß ø Ł ő Ş ğ ÿ"


@dataclass(frozen=True)
class Size:
    """How big a made-up plan is."""

    parts: int = 4
    areas: int = 20
    mixes: int = 8
    castings: int = 12
    painters: int = 1
    long_names: bool = False
    name: str = "Lamplighter Newt"
    sessions: bool = True


def _hex(rng: np.random.Generator) -> str:
    return "#{:02x}{:02x}{:02x}".format(*rng.integers(20, 245, 3))


def _shape(rng: np.random.Generator, centre: tuple[float, float], reach: float, size: int) -> np.ndarray:
    y, x = np.mgrid[:size, :size]
    dy, dx = y - centre[1], x - centre[0]
    angle, r = np.arctan2(dy, dx), np.hypot(dx, dy)
    wave = 1 + 0.12 * np.sin(2 * angle + rng.uniform(0, 6)) + 0.08 * np.sin(5 * angle + rng.uniform(0, 6))
    return np.asarray(r < reach * wave)


def _labels(rng: np.random.Generator, size: Size) -> tuple[np.ndarray, list[list[int]]]:
    """Parts side by side in a square of cells, each cut into patches (Voronoi cells, a few of them tiny)."""
    side, cells = 900, int(np.ceil(np.sqrt(size.parts)))
    labels = np.zeros((side, side), np.int32)
    per_part = np.array_split(np.arange(1, size.areas + 1), size.parts)
    step = side / cells
    yx = np.mgrid[:side, :side].transpose(1, 2, 0)
    for k, ids in enumerate(per_part):
        centre = ((k % cells + 0.5) * step, (k // cells + 0.5) * step)
        inside = _shape(rng, centre, step * 0.38, side)
        spots = np.array(centre)[::-1] + rng.normal(0, step * 0.17, (len(ids), 2))
        near = np.argmin(((yx[inside][:, None] - spots[None]) ** 2).sum(-1), axis=1)
        labels[inside] = ids[near]
        for lost in set(ids) - set(np.unique(labels)):
            y, x = (np.array(centre)[::-1] + rng.uniform(-0.2, 0.2, 2) * step).astype(int)
            labels[y : y + 5, x : x + 5] = lost
    return labels, [[int(i) for i in ids if (labels == i).any()] for ids in per_part]


def _edges(labels: np.ndarray) -> dict[tuple[int, int], int]:
    found: dict[tuple[int, int], int] = {}
    for a, b in ((labels[:, 1:], labels[:, :-1]), (labels[1:], labels[:-1])):
        for pair in zip(*(v[(a != b) & (a > 0) & (b > 0)] for v in (a, b)), strict=True):
            key = (int(min(pair)), int(max(pair)))
            found[key] = found.get(key, 0) + 1
    return dict(sorted(found.items()))


def make_drawing(rng: np.random.Generator, size: Size) -> tuple[Drawing, dict[int, int]]:
    """A drawing and the colour (index into its palette) of each area."""
    labels, ids = _labels(rng, size)
    live = [i for part in ids for i in part]
    colours = [_hex(rng) for _ in range(size.mixes)]
    of = {i: k % size.mixes if k < size.mixes else int(rng.integers(size.mixes)) for k, i in enumerate(live)}
    total = float((labels > 0).sum())
    areas, parts = [], []
    for p, group in enumerate(ids):
        for i in group:
            ys, xs = np.nonzero(labels == i)
            box = (float(xs.min()), float(ys.min()), float(xs.max() + 1), float(ys.max() + 1))
            areas.append(
                Area(i, p, of[i], colours[of[i]], (50, 10, 10), len(xs) / total, float(len(xs)), 8.0, 60.0,
                     (float(np.median(xs)), float(np.median(ys))), box)
            )  # fmt: skip
        ys, xs = np.nonzero(np.isin(labels, group))
        box = (float(xs.min()), float(ys.min()), float(xs.max() + 1), float(ys.max() + 1))
        parts.append(DrawnPart(f"part {p + 1}", box, float(len(xs)), tuple(group)))
    ink = np.zeros_like(labels, bool)
    ink[:, 1:] |= labels[:, 1:] != labels[:, :-1]
    ink[1:] |= labels[1:] != labels[:-1]
    ink[:, :-1] |= ink[:, 1:]
    palette = tuple(
        PaletteColour(
            h, (50, 10, 10), sum(a.share for a in areas if a.colour == k), tuple(i for i in live if of[i] == k)
        )
        for k, h in enumerate(colours)
    )
    edges = tuple(Edge(pair, float(n), 0.5, False) for pair, n in _edges(labels).items())
    drawing = Drawing("newt.png", (900, 900), 1.0, "flat", "#1b1a20", "#f7f4ec", palette, tuple(areas), edges,
                      tuple(parts), labels, ink)  # fmt: skip
    return drawing, of


def _paints(rng: np.random.Generator, long: bool) -> tuple[Paint, ...]:
    names = ["titanium white", "carbon black", "yellow ochre", "phthalo blue green shade", "iron oxide red",
             "cadmium yellow", "quinacridone magenta", "burnt umber", "chromium oxide green"]  # fmt: skip
    paints = []
    for k, name in enumerate(names):
        wave = np.linspace(0, 1, 31)
        absorb = 0.05 + 30 * np.exp(-((wave - k / 9) ** 2) / 0.05) * (k > 0)
        label = f"{name}, {LONG}" if long and k % 3 == 1 else name
        hazards = ("Contains cadmium: harmful if breathed in or swallowed; do not spray or sand.",) if k == 5 else ()
        paints.append(Paint(name.replace(" ", "-"), label, f"P{'WBYBRYRBG'[k]}{k + 1}", absorb, np.full(31, 80.0),
                            1.3, hazards, "made up"))  # fmt: skip
    return tuple(paints)


def _mix(rng: np.random.Generator, k: int, drawn: str, paints: tuple[Paint, ...], long: bool) -> Mix:
    chosen = rng.choice(len(paints), int(rng.integers(1, 5)), replace=False)
    recipe = tuple(
        Ingredient(paints[c].id, paints[c].name, paints[c].ci, int(rng.integers(1, 9)),
                   Premix(paints[c].id, 1, "titanium-white", 9) if n == 2 else None)
        for n, c in enumerate(chosen)
    )  # fmt: skip
    parts = np.array([i.parts for i in recipe], float)
    K = sum(p * paints[c].K for p, c in zip(parts, chosen, strict=True)) / parts.sum()
    S = sum(p * paints[c].S for p, c in zip(parts, chosen, strict=True)) / parts.sum()
    name = f"dusky {LONG}" if long and k % 4 == 0 else f"dark teal {k + 1}"
    letter = string.ascii_uppercase[k] if k < 26 else f"A{string.ascii_uppercase[k - 26]}"
    return Mix(letter, name, (50, 10, 10), drawn, (48, 10, 10), recipe, (48, 9, 9), drawn, float(rng.uniform(0, 4)),
               float(rng.uniform(0, 4)), bool(k % 5), float(rng.uniform(2, 5)), np.asarray(K), np.asarray(S),
               recipe[0].paint, 2.1, k % 7 == 3, "arylide yellow" if k % 5 == 0 else None)  # fmt: skip


def _passes(
    scheme: Scheme, mixes: tuple[Mix, ...], of: dict[int, int], edges: list[EdgeOrder], long: bool
) -> list[Pass]:
    passes = []
    for k, mix in enumerate(mixes):
        work = tuple(PassWork(a.id, a.part, 1 + (a.id + k) % 3, 1.5) for a in scheme.areas if of.get(a.id) == k)
        if not work:
            continue
        ids = {w.area for w in work}
        settled = tuple(e.areas for e in edges if e.second in ids)
        why = (f"lighter than what lies beside it: {LONG}",) if long else ("lighter than what lies beside it",)
        kind = ("colour", "colour", "undercoat", "colour", "dot", "blend", "recut")[k % 7]
        passes.append(
            Pass(len(passes) + 1, kind, mix.id, work, max(w.coats for w in work), "flat brush, 6 mm", "brush",
                 1.5 * len(work), settled, (Care("", "glue face under the collar"),) if k % 3 == 0 else (),
                 (Care("", "by the stick in its neck", usual=True),) if k % 2 else (), why, 12.0, 18.0)
        )  # fmt: skip
    return passes


def _tasks(passes: list[Pass], size: Size) -> tuple[list[Task], float]:
    tasks, now = [], 0.0
    for p in passes:
        tasks.append(Task(now, now + 4, 1, 0, "change", p.no, 0, p.mix))
        now += 4
        for coat in range(1, p.coats + 1):
            for c in range(1, size.castings + 1):
                length = 0.5 + 0.2 * len(p.work)
                tasks.append(Task(now, now + length, 1 + c % size.painters, c, "coat", p.no, coat, p.mix))
                now += length if (c + 1) % size.painters == 0 or c == size.castings else 0.0
    return tasks, now


def _run(passes: list[Pass], size: Size) -> Run:
    tasks, end = _tasks(passes, size)
    sessions = ()
    if size.sessions:
        length = 180.0
        gap = 1440.0 - length
        tasks = [
            Task(t.start_min + gap * (t.start_min // length), t.end_min + gap * (t.start_min // length), t.painter,
                 t.casting, t.kind, t.pass_no, t.coat, t.mix)
            for t in tasks
        ]  # fmt: skip
        number = int(end // length) + 1
        sessions = tuple(
            Session(k + 1, k * 1440.0, k * 1440.0 + length, "09:00" if k == 0 else "", at_min=None if k else 540)
            for k in range(number)
        )
        end = max(t.end_min for t in tasks)
    finish = tuple(max((t.end_min for t in tasks if t.casting == c), default=0.0) for c in range(1, size.castings + 1))
    work = sum(t.end_min - t.start_min for t in tasks)
    advice = ("Keep 9 castings in work at once.", "A second painter would save 1 h 20 min.")
    return Run(size.castings, size.painters, end, work, max(0.0, end - work), end * 0.97, size.castings > 20,
               tuple(tasks), finish, sessions, advice, "pass by pass", len(passes))  # fmt: skip


def _scheme(drawing: Drawing, size: Size) -> Scheme:
    def name(i: int) -> str:
        if not size.long_names:
            return f"area {i}"
        return (LONG, UNBROKEN, ACCENTED, "skin")[i % 4]

    part_name = {
        p: f"{dp.name} {LONG}" if size.long_names and p == 1 else dp.name for p, dp in enumerate(drawing.parts)
    }
    areas = tuple(
        SchemeArea(a.id, part_name[a.part], name(a.id), a.lab, a.hex, a.share, a.share * 60, 0.8, 6.0,
                   frozenset({"bare"}) if a.id % 17 == 16 else frozenset())
        for a in drawing.areas
    )  # fmt: skip
    parts = tuple(
        SchemePart(part_name[p], dp.areas, 12.0, 48.0, "4 x silhouette", ("under the collar",), ("body",) if p else (),
                   1 + p % 2, 60.0, 50.0)
        for p, dp in enumerate(drawing.parts)
    )  # fmt: skip
    edges = tuple(SchemeEdge(e.areas, e.length_px / 10, 0.5, False) for e in drawing.edges)
    return Scheme(size.name, 95.0, 0.1, parts, areas, edges)


def _edge_orders(scheme: Scheme, of: dict[int, int], rng: np.random.Generator, long: bool) -> list[EdgeOrder]:
    orders = []
    for e in scheme.edges:
        a, b = sorted(e.areas, key=lambda i: of.get(i, -1))
        treat = ("cut", "lap", "dot", "blend", "recut")[int(rng.integers(5))]
        turned = bool(rng.integers(6) == 0)
        why = f"a recess goes first: {LONG}" if long and turned else "lighter first"
        orders.append(EdgeOrder(e.areas, a, b, treat, e.length_mm, why, 1.0 if treat == "lap" else 0.0, turned))
    return orders


def make_plan(seed: int = 0, size: Size = Size()) -> Plan:
    """A complete plan of that size; the same seed gives the same plan."""
    rng = np.random.default_rng(seed)
    drawing, colour_of = make_drawing(rng, size)
    scheme = _scheme(drawing, size)
    bare = {a.id for a in scheme.areas if "bare" in a.flags}
    of = {i: c for i, c in colour_of.items() if i not in bare}
    paints = _paints(rng, size.long_names)
    table = ColourTable("made-up acrylics", paints, 0.03, 0.65, "acrylic", ("made up",))
    mixes = tuple(_mix(rng, k, c.hex, paints, size.long_names) for k, c in enumerate(drawing.palette))
    edges = _edge_orders(scheme, of, rng, size.long_names)
    passes = _passes(scheme, mixes, of, edges, size.long_names)
    coats = tuple(AreaCoats(i, mixes[k].id, 2, (20.0, 4.0, 0.6)) for i, k in of.items())
    primer = Primer("light grey", "#c9c9c6", 0.58, 210.0, "white", 236.0, "saves 26 min of painting over white", 1)
    order = PaintingOrder(
        tuple(passes), tuple(edges), coats, primer, len(passes), True, ("One circle was broken at 3-5.",)
    )
    run = _run(passes, size)
    n, note = size.castings, LONG if size.long_names else ""
    quantities = (
        *(
            Quantity("mix", m.id, m.name, 0.21, 0.21 * n, 50, 3.0, 2, pot_drops=10 * n, least_drops=10 * n)
            for m in mixes
        ),
        *(
            Quantity("paint", p.id, p.name, 0.2, 0.2 * n, 48, 3.1, 1, 2.0, k % 2, 1.25, note)
            for k, p in enumerate(paints)
        ),
        Quantity("primer", "primer", "light grey primer", 1.2, 1.2 * n),
        *(Quantity("pass", str(p.no), f"mix {p.mix}", 0.1, 0.1 * n, mix=p.mix) for p in passes),
    )
    steps = (
        Step(1, "cure", "casting", "Leave the casting until it is firm.", 0.0, 120.0, "resin goes on shrinking", ()),
        Step(2, "wash", "preparing", "Wash off the release agent with warm water and soap.", 1.0, 60.0, "", ()),
        Step(3, "prime", "priming", "Prime light grey, two mist coats.", 1.5, 30.0, "", ("Spray outdoors.",)),
        Step(4, "paint", "painting", f"Paint pass by pass. {LONG if size.long_names else ''}", 40.0, 0.0),
        Step(5, "varnish", "finishing", "Varnish satin.", 1.5, 1440.0, "", ("Ventilate.",)),
    )  # fmt: skip
    rows = [("dry coat", "20", "µm"), ("room temperature", "21", "°C"), ("relative humidity", "50", "%"),
            ("painter's minutes per cut edge", "0.15", "min/10 mm"), ("counts as hidden", "≤ 1.0", "ΔE00")]  # fmt: skip
    assumptions = tuple(Assumption(*row, "common practice") for row in rows)
    cautions = ("Ventilate while you prime, paint and varnish.", "Wear a respirator when you spray or sand.",
                "The product's own safety data sheet and local rules win.")  # fmt: skip
    dry = (
        DryTimes("aerosol primer", 60, 25, 15, 30, 60, 1440),
        DryTimes("craft acrylic", 55, 20, 12, 18, 36, 1440, 1.5),
    )
    plan = Plan(
        date="12 March",
        finish="satin",
        drawing=drawing,
        scheme=scheme,
        box=Box(table, paints, "titanium-white", "carbon-black"),
        method=Method(),
        labour=Labour(),
        room=Room(),
        run_settings=RunSettings(castings=size.castings, painters=size.painters),
        mix_settings=MixSettings(),
        mixes=mixes,
        least_mixes=len(mixes),
        pots_within=(),
        mix_of=tuple(sorted(of.items())),
        order=order,
        dry=dry,
        steps=steps,
        run=run,
        quantities=quantities,
        assumptions=assumptions,
        cautions=cautions,
        cautions_short=cautions,
        part_passes=part_passes(scheme, order, steps),
        notes=("2 specks were too small to paint and were folded in.",),
    )
    return replace(plan, wells=wells(plan, run, quantities))


EXTREMES = {
    "everything at once": (0, Size(8, 60, 20, 200, 3, long_names=True, name=LONG)),
    "many areas on one part": (1, Size(1, 60, 20, 30, long_names=True, name=UNBROKEN)),
    "many small parts": (2, Size(8, 30, 6, 77, 2, name=ACCENTED, sessions=False)),
    "one of everything": (3, Size(1, 1, 1, 1, name="灯 Тритон")),
    "many passes, one casting": (4, Size(3, 40, 26, 1, long_names=True)),
}
"""Plans at the ends of what sheets must hold, by what is extreme in them: seed and size."""

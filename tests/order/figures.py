"""Schemes and mixes to test with: the Lamplighter Newt set down by hand, and random small figures."""

import random
from collections.abc import Mapping, Sequence
from functools import cache

from finishplan.colour.film import opaque, saunderson, surface
from finishplan.colour.light import hex_from_lab, lab
from finishplan.job.settings import Labour, Method
from finishplan.order.model import PaintingOrder
from finishplan.order.order import paint_order
from finishplan.order.settings import OrderSettings
from finishplan.paint.box import load_box
from finishplan.paint.model import Box, Ingredient, Mix
from finishplan.scheme.model import Scheme, SchemeArea, SchemeEdge, SchemePart


@cache
def box() -> Box:
    return load_box()


def mix(id: str, name: str, recipe: Mapping[str, int], finish: str = "satin") -> Mix:
    """Whole parts of paints of the starter box, by id."""
    paints = {p.id: p for p in box().paints}
    total = sum(recipe.values())
    K = sum(n * paints[p].K for p, n in recipe.items()) / total
    S = sum(n * paints[p].S for p, n in recipe.items()) / total
    k1, k2 = surface(finish, box().table.k1, box().table.k2)
    seen = tuple(lab(saunderson(opaque(K, S), k1, k2)).tolist())
    parts = tuple(Ingredient(p, paints[p].name, paints[p].ci, n) for p, n in recipe.items())
    hex = hex_from_lab(seen)
    return Mix(id, name, seen, hex, seen, parts, seen, hex, 0.0, 0.0, True, 2.0, K, S)


RECIPES: dict[str, dict[str, int]] = {
    "white": {"titanium-white": 1},
    "cream": {"titanium-white": 10, "yellow-ochre": 1, "arylide-yellow": 1},
    "lamp yellow": {"titanium-white": 6, "arylide-yellow": 3},
    "mint": {"titanium-white": 8, "phthalo-green-blue-shade": 1, "yellow-ochre": 1},
    "yellow": {"arylide-yellow": 5, "yellow-ochre": 3, "diarylide-yellow": 1},
    "orange": {"pyrrole-orange": 4, "diarylide-yellow": 2, "titanium-white": 1},
    "sage": {"titanium-white": 5, "yellow-ochre": 3, "phthalo-green-blue-shade": 1},
    "pink": {"titanium-white": 8, "pyrrole-red": 2, "quinacridone-magenta": 1},
    "teal": {"titanium-white": 5, "phthalo-green-blue-shade": 2, "phthalo-blue-green-shade": 1},
    "brass": {"yellow-ochre": 6, "burnt-umber": 2, "titanium-white": 2},
    "tan": {"burnt-sienna": 3, "yellow-ochre": 4, "titanium-white": 1},
    "moss": {"yellow-ochre": 6, "phthalo-green-blue-shade": 1, "titanium-white": 1},
    "plum": {"titanium-white": 2, "quinacridone-magenta": 3, "burnt-umber": 3},
    "red": {"pyrrole-red": 5, "quinacridone-magenta": 1, "titanium-white": 1},
    "brown": {"burnt-umber": 5, "burnt-sienna": 1},
    "dark blue": {"ultramarine-blue": 6, "phthalo-blue-green-shade": 1, "bone-black": 1},
    "grey": {"titanium-white": 10, "bone-black": 2},
    "black": {"bone-black": 1},
    "lilac": {"titanium-white": 9, "dioxazine-purple": 1},
    "olive": {"yellow-ochre": 4, "phthalo-green-blue-shade": 1, "burnt-umber": 3},
}


@cache
def shelf() -> dict[str, Mix]:
    """Every mix of RECIPES by name; ids are letters."""
    return {name: mix(chr(65 + k), name, recipe) for k, (name, recipe) in enumerate(RECIPES.items())}


def area(
    id: int,
    part: str,
    name: str,
    colour: Mix,
    *,
    cm2: float = 4.0,
    narrow: float = 3.0,
    wide: float = 12.0,
    flags: Sequence[str] = (),
    within: int | None = None,
    into: int | None = None,
) -> SchemeArea:
    return SchemeArea(
        id, part, name, colour.lab, colour.hex, 0.1, cm2, narrow, wide, frozenset(flags), None, within, into
    )  # type: ignore[arg-type]


def edge(a: int, b: int, mm: float = 20.0, **more: object) -> SchemeEdge:
    return SchemeEdge((min(a, b), max(a, b)), mm, 0.5, bool(more.pop("soft", False)), **more)  # type: ignore[arg-type]


def scheme(
    areas: Sequence[SchemeArea],
    edges: Sequence[SchemeEdge],
    after: Mapping[str, tuple[str, ...]] | None = None,
    glue: Mapping[str, tuple[str, ...]] | None = None,
) -> Scheme:
    names = dict.fromkeys(a.part for a in areas)
    parts = tuple(
        SchemePart(
            n,
            tuple(a.id for a in areas if a.part == n),
            5.0,
            sum(a.cm2 for a in areas if a.part == n),
            "drawn",
            (glue or {}).get(n, ()),
            (after or {}).get(n, ()),
        )
        for n in names
    )
    return Scheme("test", 80.0, 0.1, parts, tuple(areas), tuple(edges))


def order_of(
    figure: Scheme,
    colours: Mapping[int, Mix],
    *,
    method: Method | None = None,
    labour: Labour | None = None,
    castings: int = 30,
    finish: str = "satin",
    primer_coats: int = 1,
    wait_min: float = 0.0,
    sticks: bool = True,
) -> PaintingOrder:
    """paint_order with the mixes in the order of their ids."""
    used = sorted({m.id: m for m in colours.values()}.values(), key=lambda m: m.id)
    place = {m.id: k for k, m in enumerate(used)}
    return paint_order(
        figure,
        tuple(used),
        {i: place[m.id] for i, m in colours.items()},
        box(),
        OrderSettings(
            method or Method(),
            labour or Labour(),
            castings,
            finish,  # type: ignore[arg-type]
            primer_coats,
            wait_min,
            sticks,
        ),
    )


NEWT: tuple[tuple[int, str, str, str, float, float, float, tuple[str, ...], int | None], ...] = (
    (1, "head", "hood", "yellow", 28.0, 6.0, 20.0, (), None),
    (2, "head", "hood lining", "tan", 9.0, 3.0, 4.0, (), None),
    (3, "head", "face", "teal", 12.0, 2.0, 14.0, (), None),
    (4, "head", "brow patch", "mint", 1.2, 1.5, 4.0, (), None),
    (5, "head", "chin", "cream", 5.0, 2.0, 6.0, (), None),
    (6, "head", "eyelid left", "mint", 0.9, 0.8, 1.6, (), None),
    (7, "head", "eyelid right", "mint", 0.9, 0.8, 1.6, (), None),
    (8, "head", "eye left", "white", 1.1, 1.5, 4.0, (), None),
    (9, "head", "eye right", "white", 1.1, 1.5, 4.0, (), None),
    (10, "head", "pupil left", "black", 0.5, 2.5, 3.4, (), 8),
    (11, "head", "pupil right", "black", 0.5, 2.5, 3.4, (), 9),
    (12, "head", "glint left", "white", 0.05, 1.0, 1.1, (), 10),
    (13, "head", "glint right", "white", 0.05, 1.0, 1.1, (), 11),
    (14, "head", "lips", "mint", 1.4, 0.8, 1.0, (), None),
    (15, "head", "mouth", "plum", 2.2, 3.0, 5.0, ("recess",), 14),
    (16, "head", "tongue", "pink", 0.7, 2.0, 3.0, (), None),
    (17, "head", "cheek spot left", "orange", 0.2, 1.4, 1.7, (), 3),
    (18, "head", "cheek spot right", "orange", 0.2, 1.4, 1.7, (), 3),
    (19, "head", "hood button", "brown", 0.6, 1.8, 2.6, (), None),
    (20, "body", "coat", "yellow", 24.0, 4.0, 16.0, (), None),
    (21, "body", "scarf", "red", 6.0, 4.0, 7.0, (), None),
    (22, "body", "scarf band", "cream", 0.5, 1.4, 4.0, (), None),
    (23, "body", "belly", "cream", 6.0, 3.0, 9.0, (), None),
    (24, "body", "cuffs", "tan", 2.5, 2.2, 3.4, (), None),
    (25, "body", "hands", "teal", 3.0, 1.0, 5.0, (), None),
    (26, "body", "tail", "teal", 6.0, 2.0, 8.0, (), None),
    (27, "body", "tail fin", "mint", 2.5, 1.2, 3.0, (), None),
    (28, "body", "tail spot", "orange", 0.3, 1.6, 1.9, (), 26),
    (29, "body", "boots", "brown", 8.0, 5.0, 9.0, (), None),
    (30, "body", "boot tops", "tan", 2.5, 2.4, 3.0, (), None),
    (31, "body", "coat buttons", "brown", 0.4, 1.2, 1.8, (), 20),
    (32, "body", "patch", "moss", 0.8, 3.2, 3.6, (), 20),
    (33, "lantern", "frame", "brass", 7.0, 1.0, 5.0, (), None),
    (34, "lantern", "panes", "lamp yellow", 3.0, 1.6, 5.0, ("recess",), None),
    (35, "lantern", "flame", "orange", 0.5, 1.8, 3.2, (), 34),
    (36, "lantern", "hook", "brown", 2.0, 1.8, 1.8, (), None),
    (37, "base", "grass", "sage", 22.0, 4.0, 18.0, (), None),
    (38, "base", "moss", "moss", 12.0, 3.0, 10.0, (), None),
    (39, "base", "mushroom caps", "orange", 2.5, 3.0, 5.0, (), None),
    (40, "base", "mushroom stalks", "cream", 1.2, 2.4, 3.2, (), None),
)
NEWT_EDGES = (
    (1, 2, 90), (2, 3, 45), (2, 5, 40), (3, 4, 18), (3, 5, 14), (3, 6, 12), (3, 7, 12), (6, 8, 11), (7, 9, 11), (3, 8,
    5), (3, 9, 5), (8, 10, 11), (9, 11, 11), (10, 12, 3.4), (11, 13, 3.4), (3, 14, 14), (5, 14, 20), (14, 15, 30), (15,
    16, 10), (14, 16, 8), (3, 17, 5), (3, 18, 5), (1, 19, 6), (2, 19, 5), (20, 21, 34), (21, 22, 12), (20, 22, 3),
    (20, 23, 36), (20, 24, 18), (24, 25, 12), (26, 27, 34), (26, 28, 6), (20, 26, 8), (29, 30, 20), (20, 31, 12), (20,
    32, 14), (23, 26, 4), (26, 30, 10), (33, 34, 60), (34, 35, 12), (33, 36, 6), (37, 38, 70), (37, 39, 6), (37, 40,
    8), (39, 40, 10),
)  # fmt: skip


def newt() -> tuple[Scheme, dict[int, Mix]]:
    """The Lamplighter Newt of examples/, its areas and edges set down by eye in mm for a figure 80 mm high."""
    colours = {row[0]: shelf()[row[3]] for row in NEWT}
    areas = [
        area(i, part, name, shelf()[c], cm2=cm2, narrow=narrow, wide=wide, flags=flags, within=within)
        for i, part, name, c, cm2, narrow, wide, flags, within in NEWT
    ]
    figure = scheme(
        areas,
        [edge(a, b, mm) for a, b, mm in NEWT_EDGES],
        glue={"head": ("neck",), "body": ("neck", "soles"), "lantern": (), "base": ("footprints",)},
    )
    return figure, colours


def random_figure(
    seed: int, areas: int, mixes: int, parts: int = 1, *, flagged: float = 0.2, wished: float = 0.15
) -> tuple[Scheme, dict[int, Mix]]:
    """Areas in random places, touching their nearest neighbours of the part; some flagged, some edges wished
    otherwise."""
    rng = random.Random(seed)
    palette = rng.sample(sorted(shelf()), mixes) if mixes <= len(shelf()) else sorted(shelf())
    colours = {i: shelf()[rng.choice(palette)] for i in range(1, areas + 1)}
    made, spot = [], {}
    for i in colours:
        part = f"part {rng.randrange(parts)}"
        spot[i] = (part, rng.random(), rng.random())
        wide = rng.choice([1.2, 1.8, 3.0, 6.0, 12.0, 20.0]) * rng.uniform(0.9, 1.1)
        flags = [f for f in ("recess", "dot", "first", "last", "blend", "bare") if rng.random() < flagged / 6]
        if {"first", "last"} <= set(flags):
            flags.remove("last")
        made.append((i, part, wide, flags))
    pairs = set()
    for i, (part, x, y) in spot.items():
        near = sorted(
            (j for j in spot if j != i and spot[j][0] == part),
            key=lambda j: (spot[j][1] - x) ** 2 + (spot[j][2] - y) ** 2,
        )
        pairs |= {(min(i, j), max(i, j)) for j in near[:3]}
    edges = []
    for a, b in sorted(pairs):
        first = rng.choice((a, b)) if rng.random() < wished else None
        edges.append(edge(a, b, rng.uniform(2, 60), first=first, soft=rng.random() < 0.1))
    beside = {i: [a + b - i for a, b in sorted(pairs) if i in (a, b)] for i in spot}
    rows = [
        area(
            i,
            part,
            f"n{i}",
            colours[i],
            cm2=wide * rng.uniform(0.2, 1.5),
            narrow=wide * rng.uniform(0.3, 1.0),
            wide=wide,
            flags=flags,
            within=beside[i][0] if len(beside[i]) == 1 else None,
            into=rng.choice(beside[i]) if "blend" in flags and beside[i] else None,
        )
        for i, part, wide, flags in made
    ]
    return scheme(rows, edges), colours

"""A small figure of three pieces, made by hand, for the tests of steps and quantities."""

import numpy as np

from finishplan.drying.times import dry_times
from finishplan.job.settings import Labour, Room
from finishplan.order.minutes import pass_minutes
from finishplan.order.model import EdgeOrder, PaintingOrder, Pass, PassWork, Primer
from finishplan.paint.model import Box, ColourTable, Ingredient, Mix, Paint, Premix
from finishplan.scheme.model import Scheme, SchemeArea, SchemeEdge, SchemePart

ZERO = np.zeros(31)


def part(name, areas, silhouette_cm2, height_mm, width_mm, **more):
    surface = 4 * silhouette_cm2 * more.get("copies", 1)
    return SchemePart(name, areas, silhouette_cm2, surface, "test", height_mm=height_mm, width_mm=width_mm, **more)


def area(id, part, name, cm2):
    return SchemeArea(id, part, name, (50.0, 0.0, 0.0), "#777777", 0.1, cm2, 3.0, 10.0)


def scheme():
    parts = (
        part("body", (1, 2, 3), 30.0, 95.0, 45.0, glue_faces=("neck", "palm")),
        part("head", (4, 5), 9.0, 35.0, 30.0, glue_faces=("neck",)),
        part("lantern", (6,), 1.5, 20.0, 9.0),
    )
    areas = (
        area(1, "body", "coat", 70.0),
        area(2, "body", "scarf", 20.0),
        area(3, "body", "boots", 30.0),
        area(4, "head", "skin", 30.0),
        area(5, "head", "mouth", 6.0),
        area(6, "lantern", "brass", 6.0),
    )
    return Scheme("Lamplighter Newt", 95.0, 0.1, parts, areas, (SchemeEdge((1, 2), 40.0, 0.5, False),))


def one_pass(no, mix, work, kind="colour", tool="brush", edges=()):
    """work: {area id: coats}."""
    figure = scheme()
    done = tuple(PassWork(a, figure.area(a).part, c, 0.12 * figure.area(a).cm2) for a, c in work.items())
    minutes = pass_minutes(done, Labour(), {})
    return Pass(no, kind, mix, done, max(work.values()), "round 4", tool, minutes, edges, why=("lighter first",))


def cut(first, second, length_mm):
    return EdgeOrder(tuple(sorted((first, second))), first, second, "cut", length_mm, "lighter first")


def order(*passes, **more):
    passes = passes or (
        one_pass(1, "A", {5: 2}),
        one_pass(2, "B", {1: 2, 6: 1}),
        one_pass(3, "C", {4: 2}),
        one_pass(4, "D", {2: 2, 3: 1}),
    )
    primer = Primer("white", "#ffffff", 0.9, 60.0, "light grey", 62.0, "cheapest for the run", 1)
    return PaintingOrder(passes, more.pop("edges", ()), more.pop("coats", ()), primer, len(passes), True, **more)


def paint(id, ci, **more):
    return Paint(id, id, ci, ZERO, ZERO, 1.2, **more)


def box(**white):
    paints = (
        paint("white", "PW6", **white),
        paint("black", "PBk7"),
        paint("red", "PR108", hazards=("cadmium: do not spray, do not sand",)),
        paint("blue", "PB15:3"),
    )
    return Box(ColourTable("test", paints, 0.03, 0.65, "acrylic", ("test",)), paints, "white", "black")


def part_of(paint, parts, premix=None):
    return Ingredient(paint, paint, "", parts, premix)


def mix(id, *recipe):
    grey = (50.0, 0.0, 0.0)
    return Mix(id, f"mix {id}", grey, "#777777", grey, recipe, grey, "#777777", 0.0, 0.0, True, 1.0, ZERO, ZERO)


def mixes():
    return (
        mix("A", part_of("white", 5), part_of("red", 1)),
        mix("B", part_of("white", 3), part_of("blue", 2, Premix("blue", 1, "white", 9))),
        mix("C", part_of("black", 1), part_of("red", 4)),
        mix("D", part_of("blue", 1)),
    )


def dry(primer="aerosol-primer", paint="acrylic", varnish="varnish-water", room=None):
    return tuple(dry_times(kind, None, room or Room()) for kind in (primer, paint, varnish))

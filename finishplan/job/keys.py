"""The one table of the job file's keys: section, key, check, unit, default, comment, the stage that each feeds.

The parser, the written file, the README's list and the options of the command line come from it.
"""

import dataclasses
import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any, Literal

from finishplan.basics.checks import (
    HEX,
    Check,
    choice,
    colour,
    dated,
    list_of,
    number,
    pair,
    shown,
    text,
    whole,
    yes_no,
)
from finishplan.basics.errors import InputError
from finishplan.job.checks import area_ref, area_refs, lab_text, line_width, place, places, poured, recipe, some_places
from finishplan.job.job import AreaJob, Cut, EdgeJob, FigureJob, MixJob, PaintsJob, PartJob
from finishplan.job.settings import Labour, Method, OwnTiming, Resin, Room, RunSettings, StepChange, StepSettings
from finishplan.paint.settings import DARK

JOB_VERSION = 2
"""2: areas go by name and place. 1, or none: by number alone."""
Stage = Literal["reading", "scheme", "mixes", "painting", "run", "amounts", "sheets"]
FLAGS = ("recess", "dot", "blend", "bare", "first", "last")
TREATS = ("lap", "cut", "dot", "blend")
GLOSSES = ("matt", "satin", "gloss")
PRIMERS = ("auto", "white", "light grey", "mid grey", "black")
NAME = text(80, empty=False)
_FILE = text(400, empty=False)
# The kinds are a table of a room above: plan/settings.py knows which will do.
_KIND = text(40, empty=False)
_MM, _MIN, _PCT, _UM, _C, _G = "mm", "minutes", "%", "micrometres of dry film", "degrees C", "g"


@dataclass(frozen=True)
class Key:
    """One key. section: as its header, [parts.NAME] being 'parts'. unit: of its number, '' for none. default: None
    where it is unset. stage: the first that asks for it."""

    name: str
    check: Check
    comment: str = ""
    unit: str = ""
    section: str = ""
    default: Any = None
    stage: Stage = "scheme"


def _num(name: str, low: float, high: float, unit: str = "", comment: str = "") -> Key:
    return Key(name, number(low, high, unit), comment, unit)


def _section(name: str, model: type, stage: Stage, keys: Iterable[Key]) -> tuple[Key, ...]:
    """The keys of a section, with the defaults of the dataclass that holds them."""
    defaults = {f.name: f.default for f in dataclasses.fields(model)}
    # The dataclass has the default, so that no second one can differ from it.
    found = {key: None if value is dataclasses.MISSING else value for key, value in defaults.items()}
    return tuple(replace(k, section=name, default=found[k.name], stage=stage) for k in keys)


def _primer(value: Any, where: str) -> str:
    """One of PRIMERS in any capitals, 'light-grey' and 'light gray' too, or '#rrggbb'."""
    # Makers write it as the can has it: 'Light-Grey', 'light gray'.
    said = re.sub(r"[\s_-]+", " ", value.strip().lower()).replace("gray", "grey") if isinstance(value, str) else ""
    if said in PRIMERS:
        return said
    if said.startswith("#") or re.fullmatch(HEX, said):
        return colour(value, where)
    cure = "use one of: " + ", ".join(PRIMERS) + ', or write a colour as "#rrggbb"'
    raise InputError(f"{shown(value)} is no primer known here", where=where, cure=cure)


# One row a key, in the order in which the file and the lists have them.
_LISTED = (
    *_section("figure", FigureJob, "sheets", [
        Key("name", text(120), "of the figure; without it the drawing's"),
        Key("date", dated(text(40)), "printed on the sheets as written here"),
    ]),
    *_section("figure", FigureJob, "reading", [
        Key("drawing", _FILE, "the picture, beside this file"),
        _num("height_mm", 5, 2000, _MM, "of the figure; the height of a part is surer when pieces are drawn apart"),
        Key("colours", whole(1, 64), "number of colours to read; without it the number is found"),
        Key("paper_white", choice("auto", "off"), "auto or off: bring a scan or photo to paper white"),
        Key("parts_map", _FILE, "picture with one flat colour a part, beside this file"),
        Key("lines", line_width, "auto, none (no outlines), or the usual width of the outlines in pixels"),
        Key("kind", choice("auto", "flat", "scan", "photo"), "what the picture is: auto, flat, scan, photo"),
        Key("shading", choice("base", "own mix"), "base: shades belong to their colour; own mix: painted apart"),
        Key("details", some_places, "places [x, y] of strokes read as lines, or white read as gaps, that are areas"),
    ]),
    *_section("figure", FigureJob, "scheme", [
        Key("scale", choice("sheet", "part"), "sheet: all pieces are drawn to one scale; part: each to its own"),
    ]),
    *_section("figure", FigureJob, "mixes", [Key("finish", choice(*GLOSSES), "varnish: " + ", ".join(GLOSSES))]),
    *_section("parts", PartJob, "scheme", [
        Key("areas", area_refs, "names or numbers; [[x, y], [x, y]] is a rectangle, more points an outline"),
        _num("height_mm", 1, 2000, _MM, "of this piece as drawn: fixes the scale"),
        _num("surface_factor", 0.2, 10, "", "1; more for frills and folds, less for a flat piece"),
        _num("surface_cm2", 0.01, 1e5, "cm2", "painted surface, where you know it"),
        Key("mesh", _FILE, "STL or OBJ of the part, in mm, beside this file"),
        _num("mass_g", 0.01, 1e5, _G, "of one casting: a check on the surface"),
        Key("copies", whole(1, 1000), "how many of it one figure has"),
        Key("glue_faces", list_of(NAME), "left bare for the glue"),
        Key("after", list_of(NAME), "paint these parts first"),
    ]),
    *_section("areas", AreaJob, "reading", [
        Key("at", place, "a place inside it, as shares of the picture; kept by finishplan"),
        Key("colour", colour, "as drawn; kept by finishplan. For another write target"),
        _num("size", 0, 1, "", "its share of the figure; kept by finishplan"),
        Key("swallow", area_ref, "a highlight or sliver: belongs to this area"),
        Key("join", area_ref, "one with this area; a drawn line parts them by mistake"),
        Key("paper", yes_no, "not part of the figure"),
        Key("line", yes_no, "a drawn line, not paint"),
    ]),
    *_section("areas", AreaJob, "scheme", [
        Key("name", text(80), "where the header has only its number"),
        Key("part", NAME, "the part it belongs to"),
        Key("target", colour, "the colour you want; without it the drawn one"),
        Key("mix", text(80, empty=False), "two areas or more that name one mix share it"),
        Key("flags", list_of(choice(*FLAGS)), ", ".join(FLAGS)),
        Key("blend_into", area_ref, "the area it is shaded into"),
        Key("before", list_of(area_ref), "areas to lay after it, where the rules leave that free"),
    ]),
    *_section("mixes", MixJob, "mixes", [
        Key("areas", area_refs, "names or numbers of the areas that share it"),
        Key("target", colour, "the colour you want; without it as drawn"),
        Key("leads", area_ref, "the area whose colour it takes; without it the one that takes the most paint"),
        Key("recipe", recipe, 'your own, in drops: { "PW6" = 6, "PY43" = 1 }'),
        Key("poured", poured, "drops in the last pot; kept by finishplan correct"),
        Key("came_out", lab_text, "the colour of its dab; kept by finishplan correct"),
        Key("aim", lab_text, "the colour aimed at; kept by finishplan correct"),
        Key("add", poured, "drops advised on top; kept by finishplan correct"),
        Key("corrected", whole(0, 9), "how often drops were added; kept by finishplan correct"),
    ]),
    *_section("edges", EdgeJob, "painting", [
        Key("treat", choice(*TREATS), ", ".join(TREATS)),
        Key("first", area_ref, "the area laid first"),
    ]),
    *_section("cuts", Cut, "reading", [
        Key("points", places, "a stroke that parts one area in two, in shares of the sheet as on the rim of areas.png"),
        Key("area", area_ref, "the one area it cuts; without it all that it crosses"),
    ]),
    *_section("paints", PaintsJob, "mixes", [
        Key("table", _FILE, "another colour table"),
        Key("own", list_of(NAME), "ids or Colour Index names; `finishplan box` lists them"),
        Key("file", _FILE, "a box file with your own bottles"),
        Key("kind", _KIND, "acrylic or heavy-body"),
        Key("max_paints", whole(1, 4), "1 to 4 paints in a mix"),
        Key("max_parts", whole(1, 16), "whole parts in a mix"),
        _num("within", 0, 20, "CIEDE2000", "how far a pot that colours share may lie from each; 0: none is shared"),
        _num("merge", 0, 20, "CIEDE2000", "an older name of within"),
        Key("book", _FILE, "the mix book; without it mixes.toml beside this file or in the folder above"),
        _num("drop_ml", 0.01, 0.2, "ml", "one drop: 0.05 of a dropper, 0.03 of many a bottle; count 20 into a spoon"),
        Key("dark", choice(*DARK), "dark colours: as drawn wherever paint reaches them, or lifted together"),
    ]),
    *_section("paints.dry", OwnTiming, "painting", [
        _num("touch_min", 0.2, 10_000, _MIN, "your own timing: one thin coat was touch dry after so long"),
        _num("temperature_c", 5, 40, _C, "of the air then"),
        _num("humidity_pct", 5, 95, _PCT, "of the air then"),
        _num("dry_um", 2, 200, _UM, "of that coat"),
    ]),
    *_section("method", Method, "painting", [
        Key("tool", choice("brush", "airbrush"), "brush or airbrush (broad passes sprayed)"),
        _num("coat_um", 2, 200, _UM, "of one brushed coat; without it that of the kind of paint"),
        _num("spray_um", 2, 200, _UM, "of one sprayed coat; without it 10"),
        Key("primer", _primer, ", ".join(PRIMERS) + ' or "#rrggbb"; with no coat of it the bare casting\'s'),
        Key("least_coats", whole(1, 5), "thin coats at least, on areas of 1 cm2 and more: one alone shows brush marks"),
        Key("max_coats", whole(1, 20), "more than this and an undercoat is proposed"),
        Key("undercoat", yes_no, "may a mix already in use go under another"),
        _num("lap_mm", 0, 10, _MM, "how far a first colour runs over the line, thinned out"),
        Key("primer_kind", _KIND, "row of the drying table: aerosol-primer, brush-primer"),
        _num("primer_wait_min", 0, 20_160, _MIN, "before the primer is brushed over, where its label says so"),
        Key("varnish_kind", _KIND, "row of the drying table: varnish-water, varnish-solvent, varnish-aerosol"),
    ]),
    *_section("labour", Labour, "painting", [
        _num("mix_min", 0, 1000, _MIN, "to mix a pot, to begin with"),
        _num("mix_paint_min", 0, 1000, _MIN, "for each of its paints"),
        _num("mix_premix_min", 0, 1000, _MIN, "more for each that is pre-mixed"),
        _num("turn_min", 0, 1000, _MIN, "to turn to a mix that lies open: rinse, dry, load"),
        _num("handle_min", 0, 1000, _MIN, "to take a piece up and put it down"),
        _num("line_10mm_min", 0, 1000, _MIN, "for 10 mm of edge, the coat that makes the line"),
        _num("edge_10mm_min", 0, 1000, _MIN, "for 10 mm of edge, the coats before it"),
        _num("per_dot_min", 0, 1000, _MIN, "to set a dot"),
        _num("stroke_mm_s", 0.1, 1000, "mm/s", "the fastest stroke of a broad brush"),
        _num("spray_per_cm2_min", 0, 1000, _MIN, "to spray a square centimetre"),
        _num("mask_min", 0, 1000, _MIN, "to mask before spraying"),
        _num("setup_min", 0, 600, _MIN, "to set up and clear away, an evening"),
        _num("pace", 0.05, 50, "", "your own minutes over all these; `finishplan run JOB --took 3h20` fits it"),
    ]),
    *_section("room", Room, "painting", [
        _num("temperature_c", 0, 45, _C, "of the air today"),
        _num("humidity_pct", 1, 100, _PCT, "of the air today"),
        _num("air_speed_m_s", 0, 5, "m/s", "a still room 0.1, a fan 0.5"),
        Key("dryer", yes_no, "may a hair dryer be used"),
        Key("dryer_castings", whole(1, 100), "as many stand in its stream"),
        _num("dryer_min", 0.1, 60, _MIN, "one go over one or two castings; half as much more for each further two"),
        _num("dryer_rest_min", 0, 60, _MIN, "from a go to the next coat"),
    ]),
    *_section("run", RunSettings, "run", [
        Key("castings", whole(1, 2000), "how many identical castings are painted"),
        _num("first_ready_min", 0, 1e6, _MIN, "when the first casting can be primed: cured, cleaned and masked"),
        _num("cadence_min", 0, 1e5, _MIN, "between pulls of the mould; 0: all are there at the start"),
        Key("per_shot", whole(1, 1000), "castings from one pull"),
        Key("painters", whole(1, 20), "how many people paint"),
        _num("session_min", 10, 1440, _MIN, "length of an evening at the bench; without it one stretch"),
        Key("starts", list_of(number(0, 1e7, _MIN)), "when evenings start, from the first; empty: every day_min", _MIN),
        _num("day_min", 10, 1e5, _MIN, "from one evening's start to the next"),
        Key("rack", whole(1, 100_000), "how many castings the rack holds; without it all"),
        _num("slack_min", 0, 240, _MIN, "an evening may run over by so much where that spares one"),
        Key("palette", choice("wet", "dish"), "wet (lidded: pots keep a week) or dish (open: four hours)"),
        Key("wells", whole(1, 200), "pots that it holds"),
        _num("pot_life_min", 1, 1e6, _MIN, "how long a pot stays workable; without it as the palette keeps it"),
        Key("least_drops", whole(1, 100), "least pot that can be mixed"),
        _num("brush_ml", 0, 1, "ml", "lost to the brush at each turn"),
        _num("loss", 1, 20, "ml", "of paint mixed for each ml that stays on the piece"),
        _num("search_s", 0, 600, "seconds", "effort of the search; 2 may find a large run a little shorter"),
        Key("fewest_changes", yes_no, "rather wait than turn to another mix; else the run ends as soon as can be"),
        Key("start_at", dated(text(10)), 'time of day at which it begins, as "09:00"; empty: times from the start'),
    ]),
    *_section("steps", StepSettings, "painting", [
        Key("primer_coats", whole(0, 5), "coats of primer"),
        Key("varnish_coats", whole(0, 5), "coats of varnish"),
        _num("spray_m_s", 0, 50, "m/s", "air speed of a spray where it meets the piece"),
        _num("density", 0.3, 20, "g/cm3", "of the casting"),
    ]),
    *_section("steps.KEY", StepChange, "painting", [
        Key("skip", yes_no, "leave this step out"),
        Key("text", text(300, empty=False), "other words for it"),
        _num("minutes", 0, 1e4, _MIN, "of work on one casting"),
        _num("wait_min", 0, 1e6, _MIN, "to wait after it"),
    ]),
    *_section("resin", Resin, "amounts", [
        _num("part_g", 0.01, 1e5, _G, "one cleaned casting, all its pieces"),
        _num("waste_g", 0, 1e5, _G, "its vents and sprues"),
        Key("ratio", pair(number(0.01, 1000)), "A to B by mass"),
        _num("margin", 0, 5, "", "share of a shot left in the cup"),
        _num("first_margin", 0, 5, "", "the same of the first shot"),
        _num("pigment_pct", 0, 50, _PCT, "of the resin's mass"),
        _num("pigment_excess", 0, 5, "", "share of pigment made up over what is needed"),
        Key("mould_life", whole(1, 100_000), "pulls before the mould tears or dulls"),
        _num("silicone_g", 0.1, 1e6, _G, "of one mould"),
        _num("hardener_pct", 0.1, 100, _PCT, "of the silicone's mass"),
        _num("silicone_density", 0.3, 20, "g/cm3", "of the cured silicone"),
    ]),
)  # fmt: skip

SECTIONS = tuple(dict.fromkeys(key.section for key in _LISTED))
KEYS: dict[str, dict[str, Key]] = {name: {k.name: k for k in _LISTED if k.section == name} for name in SECTIONS}
"""Section -> key -> its row. [paints.dry] and [steps.KEY] stand by themselves."""
NAMED = {"parts": "parts.NAME", "areas": "areas.NAME", "mixes": "mixes.NAME", "edges": 'edges."A - B"'}
"""Sections of which there is one for each thing, and how their header is written."""


def checks_of(section: str) -> dict[str, Check]:
    """Key -> its check, of one section."""
    return {name: key.check for name, key in KEYS[section].items()}


def header_of(section: str) -> str:
    """'[parts.NAME]', '[[cuts]]', '[run]' ..."""
    return "[[cuts]]" if section == "cuts" else f"[{NAMED.get(section, section)}]"


def key_rows() -> list[str]:
    """The table as rows of Markdown: header, key, default with its unit, what it is, the stage that it feeds."""
    rows = ["| section | key | usual | what it is | first asked for by |", "| --- | --- | --- | --- | --- |"]
    for section, keys in KEYS.items():
        for name, key in keys.items():
            usual = "" if key.default in (None, "", ()) else _as_written(key.default)
            about = key.comment.replace("|", "\\|")
            rows.append(f"| `{header_of(section)}` | `{name}` | {usual} {key.unit} | {about} | {key.stage} |")
    return [" ".join(row.split()) for row in rows]


def _as_written(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return " : ".join(f"{v:g}" for v in value)
    return f"{value:g}" if isinstance(value, int | float) else str(value)

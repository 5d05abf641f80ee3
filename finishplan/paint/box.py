"""The maker's paint box: which paints of the table they own, and bottles the table does not know."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from finishplan.basics.errors import InputError, nearest
from finishplan.basics.files import inside
from finishplan.colour.film import opaque, saunderson
from finishplan.colour.hiding import BRUSH_COAT_MM
from finishplan.colour.light import WAVELENGTHS_NM, lab
from finishplan.paint.drawdown import read_drawdowns, rescaled
from finishplan.paint.finding import find_paint, found_paints, key_at, slug_of, taken_notes
from finishplan.paint.hazards import hazards_of
from finishplan.paint.model import Box, ColourTable, Paint
from finishplan.paint.swatch import measured_notes, with_swatch
from finishplan.paint.table import load_table, number_at, read_toml, shipped_table, text_at, texts_at

STARTER = (
    "titanium-white",
    "arylide-yellow",
    "diarylide-yellow",
    "yellow-ochre",
    "pyrrole-orange",
    "pyrrole-red",
    "quinacridone-magenta",
    "dioxazine-purple",
    "ultramarine-blue",
    "phthalo-blue-green-shade",
    "phthalo-green-blue-shade",
    "burnt-sienna",
    "burnt-umber",
    "bone-black",
)
"""What a maker is taken to own who says nothing (common practice): a warm and a cool paint round the hue circle, three
earths, a white, and bone black because it tints gently; no cadmium, cobalt or chromium."""

_FILE_KEYS = ("table", "own", "paint", "drawdown")
_OWNED_KEYS = ("of", "ml_left", "price_per_ml", "density", "swatch")
_BOTTLE_KEYS = ("name", "ci", "colour", "tint", "ratio", "opacity")
_SWATCH_KEYS = ("name", "ci", "swatch")
_MEASURED_KEYS = ("name", "ci", "measured", "masstone", "tint", "ratio")
_STOCK_KEYS = ("ml_left", "price_per_ml", "density", "hazards")
_MOST_PAINTS = 60


def load_box(
    table_path: Path | None = None,
    own: tuple[str, ...] | None = None,
    file: Path | None = None,
    *,
    coat_um: float = 1000 * BRUSH_COAT_MM,
) -> Box:
    """The box: `own` picks paints of the table by id or Colour Index name, `file` (TOML) adds stock, bottles and the
    maker's drawdowns. coat_um: dry film of one of their coats.

    With neither, the starter box of the shipped table, or every paint of a table that is not shipped. Raises
    InputError for an unknown paint (naming the nearest), an empty box, one of too many paints, and everything wrong
    in a file.
    """
    said = {} if file is None else _read_box_file(file)
    where = "" if file is None else str(file)
    if table_path is None and file is not None and "table" in said:
        table_path = inside(file.parent, text_at(said, "table", where=where), where=where)
    table = load_table(table_path)
    if own is not None and "own" in said:
        raise InputError("the job names the paints owned too", where=f"{where}: own", cure="leave one `own` of the two")
    names = own if own is not None else texts_at(said, "own", where=where) if "own" in said else None
    if names is None and not said.get("paint"):
        # Bottles alone are a whole box; the usual one is for a maker who says nothing of paints.
        shipped = table_path is None or table_path.resolve() == shipped_table().resolve()
        names = STARTER if shipped else tuple(p.id for p in table.paints)
    names_at = f"{where}: own" if file is not None and own is None else ""
    paints = {p.id: p for p in found_paints(table, names or (), names_at)}
    _add_entries(paints, said.get("paint", []), table, file)
    seen = read_drawdowns(
        said.get("drawdown", []),
        # The maker's own bottle goes before a paint of the table that is called alike.
        lambda name, at: paints.get(slug_of(name)) or find_paint(table, name, at),
        (table.k1, table.k2),
        coat_um,
        where,
    )
    _check_count(paints, names_at)
    table, scaled = rescaled(table, tuple(paints.values()), seen)
    return make_box(table, tuple(scaled), names_at)


def _check_count(paints: dict[str, Paint], where: str) -> None:
    if len(paints) > _MOST_PAINTS:
        cure = f"name at most {_MOST_PAINTS} that you would use"
        raise InputError(f"{len(paints)} paints in the box", where=where, key=key_at(where), cure=cure)


def _add_entries(
    paints: dict[str, Paint], entries: list[dict[str, Any]], table: ColourTable, file: Path | None
) -> None:
    """Add every [[paint]] of a box file; one of the table's takes that one's place."""
    for number, entry in enumerate(entries, start=1):
        where = f"{file}, paint {number}"
        paint = _entry(entry, table, file, where)
        if paint.id in paints and "of" not in entry:
            raise InputError(f"a second paint '{paint.id}'", where=where, cure="rename one")
        paints[paint.id] = paint


def names_own(file: Path) -> bool:
    """Whether the box file names paints of the table as owned. Raises InputError where it cannot be read."""
    return "own" in _read_box_file(file)


def make_box(table: ColourTable, paints: tuple[Paint, ...], where: str = "") -> Box:
    """A box of these paints, in the table's order, bottles last. Raises InputError where there are none.

    A box without a white or a black is searched as it is; a note of the box says what it cannot reach, and what the
    table is not meant for.
    """
    if not paints:
        raise InputError(
            "the paint box is empty", where=where, key=key_at(where), cure='name at least one, as own = ["PW6"]'
        )
    place = {p.id: i for i, p in enumerate(table.paints)}
    ordered = tuple(sorted(paints, key=lambda p: (place.get(p.id, len(place)), p.id)))
    colours = lab(saunderson(opaque([p.K for p in ordered], [p.S for p in ordered]), table.k1, table.k2))
    chroma = np.hypot(colours[:, 1], colours[:, 2])
    whites = [i for i, p in enumerate(ordered) if _is(p, "PW", colours[i][0] > 85 and chroma[i] < 10)]
    blacks = [i for i, p in enumerate(ordered) if _is(p, "PBk", colours[i][0] < 32 and chroma[i] < 5)]
    # A tube may name a white pigment and be tinted, so a light one goes first; then the strongest.
    white = max(whites, key=lambda i: (colours[i][0] > 85, float(ordered[i].S.mean())), default=None)
    # One whose pigment is known to be a black goes before one that merely looks so.
    black = max(blacks, key=lambda i: (bool(ordered[i].ci), float(ordered[i].K.mean())), default=None)
    notes = []
    if table.historical:
        notes.append(f"The table '{table.name}' is historical: for study, not for the bench.")
    if table.binder not in ("", "acrylic"):
        notes.append(f"Its paints are bound in {table.binder}: drying times and coats are those of acrylics.")
    notes += [*taken_notes(ordered), *measured_notes(ordered)]
    box = Box(
        table=table,
        paints=ordered,
        white=None if white is None else ordered[white].id,
        black=None if black is None else ordered[black].id,
    )
    return replace(box, notes=(*notes, *without_white_or_black(box)))


def without_white_or_black(box: Box) -> tuple[str, ...]:
    """What is out of reach of a box without a white or without a black, and what to add."""
    white = "The box has no white: light colours are out of reach and no pre-mix is made. Add PW6."
    black = "The box has no black: the darkest colours are mixed from what there is. Add PBk9 or PBk7."
    return (*((white,) if box.white is None else ()), *((black,) if box.black is None else ()))


def box_warnings(box: Box) -> tuple[str, ...]:
    """What makes a plan from this box one that hardly anybody wants."""
    if len(box.paints) > 1:
        return ()
    only = box.paints[0].name
    return (f"The box has one paint, {only}: every area is painted with it alone. Name the others that you own.",)


def _is(paint: Paint, prefix: str, looks: bool) -> bool:
    """Whether its pigment has that prefix; of a paint whose pigment nobody named, whether it looks so."""
    # As `find_paint` and the cautions read it: a maker may write 'pw6' or 'PW 6'.
    ci = "".join(paint.ci.lower().split())
    return ci.startswith(prefix.lower()) if ci else bool(looks)


def _read_box_file(file: Path) -> dict[str, Any]:
    said = read_toml(file)
    # A job given in place of a box: its keys would else be told as unknown, one by one.
    if said.keys() & {"figure", "parts", "areas", "paints"}:
        cure = 'give the drawing and this with it, or write a box file: own = ["PW6", ...]'
        raise InputError("is a job file, not a paint box", where=str(file), cure=cure)
    _known(said, _FILE_KEYS, where=str(file))
    for key in ("paint", "drawdown"):
        entries = said.get(key, [])
        if not isinstance(entries, list) or not all(isinstance(e, dict) for e in entries):
            raise InputError(f"'{key}' is not a list of tables", where=str(file), cure=f"write [[{key}]] before each")
    return said


def _entry(entry: dict[str, Any], table: ColourTable, file: Path | None, where: str) -> Paint:
    """One [[paint]]: `of` a paint of the table, a bottle with a `colour`, or one with a `measured` file."""
    if "of" in entry:
        _known(entry, _OWNED_KEYS, where=where)
        paint = _stocked(find_paint(table, text_at(entry, "of", where=where), f"{where}: of"), entry, where)
        return with_swatch(paint, entry["swatch"], where) if "swatch" in entry else paint
    keys = _MEASURED_KEYS if "measured" in entry else _SWATCH_KEYS if "swatch" in entry else _BOTTLE_KEYS
    _known(entry, (*keys, *_STOCK_KEYS), where=where)
    name = text_at(entry, "name", where=where)
    if not slug_of(name):
        raise InputError(f"'{name}' is not a name", where=where, cure="use letters from a to z and digits")
    if slug_of(name) in {p.id for p in table.paints}:
        cure = f'rename it, or write of = "{slug_of(name)}" for that paint itself'
        raise InputError(f"'{name}' is a paint of the table", where=where, cure=cure)
    blank = np.zeros(WAVELENGTHS_NM.size)
    # A swatch brings its own, which are put in at the end.
    K, S = (blank, blank) if "swatch" in entry else _constants(entry, table, file, where)
    ci = text_at(entry, "ci", where=where, default="")
    hazards = tuple(dict.fromkeys((*hazards_of(ci, name), *texts_at(entry, "hazards", where=where))))
    estimate = "measured" not in entry
    paint = Paint(slug_of(name), name, ci, K, S, 1.2, hazards, "the maker's own", estimate)
    paint = _stocked(paint, entry, where)
    return with_swatch(paint, entry["swatch"], where) if "swatch" in entry else paint


def _constants(
    entry: dict[str, Any], table: ColourTable, file: Path | None, where: str
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """K and S of a bottle, measured or estimated."""
    # Both imported here: most boxes hold no such bottle, and every command pays for what is imported.
    if "measured" in entry:
        from finishplan.paint.measured import read_measured_paint

        assert file is not None
        path = inside(file.parent, text_at(entry, "measured", where=where), where=where)
        return read_measured_paint(
            path,
            table,
            masstone=text_at(entry, "masstone", where=where),
            tint=text_at(entry, "tint", where=where),
            ratio=number_at(entry, "ratio", (0.001, 0.9), where=where),
        )
    from finishplan.paint.estimate import Bottle, estimate_paint

    bottle = Bottle(
        colour=text_at(entry, "colour", where=where),
        tint=text_at(entry, "tint", where=where) if "tint" in entry else None,
        ratio=number_at(entry, "ratio", (0.001, 0.9), where=where, default=Bottle.ratio),
        opacity=text_at(entry, "opacity", where=where, default=Bottle.opacity),
    )
    return estimate_paint(table, bottle, where)


def _stocked(paint: Paint, entry: dict[str, Any], where: str) -> Paint:
    left = number_at(entry, "ml_left", (0, 1e5), where=where) if "ml_left" in entry else None
    price = number_at(entry, "price_per_ml", (0, 1e4), where=where) if "price_per_ml" in entry else None
    density = number_at(entry, "density", (0.5, 5), where=where, default=paint.density)
    return replace(paint, ml_left=left, price_per_ml=price, density=density)


def _known(entry: dict[str, Any], keys: tuple[str, ...], *, where: str) -> None:
    for key in entry:
        if key not in keys:
            raise InputError(f"unknown key '{key}'", where=where, cure=nearest(key, keys))

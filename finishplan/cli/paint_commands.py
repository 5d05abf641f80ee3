"""`finishplan mix` and `finishplan box`: recipes, and the paints themselves."""

import json
import re
from collections.abc import Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from finishplan.basics.errors import InputError, naming
from finishplan.cli import terminal
from finishplan.cli.tables import show_box as show_paints
from finishplan.cli.tables import show_mixes
from finishplan.cli.wishes import Manner
from finishplan.job.job import Job
from finishplan.plan.inputs import file_wordings

if TYPE_CHECKING:
    from finishplan.colour.lab import Lab
    from finishplan.paint.book import BookMix
    from finishplan.paint.model import Box, Mix
    from finishplan.paint.settings import MixSettings


@dataclass(frozen=True)
class MixWishes:
    """volume: of the pot, as '4ml'. job: how recipes are chosen, and the finish. as_drawn: the colours are a
    drawing's. book: the mix book, whose mixes are taken where they serve."""

    volume: str = "2ml"
    job: Job = Job()
    as_drawn: bool = False
    book: Path | None = None


def mix_colours(
    colours: Sequence[str], wishes: MixWishes, paints: Path | None, table: Path | None, manner: Manner
) -> None:
    """Print a recipe for each colour. Raises InputError for what is no colour, volume or box."""
    from finishplan.colour.light import parse_colour
    from finishplan.paint.additions import additions_note, advice
    from finishplan.paint.book import load_book
    from finishplan.paint.box import box_warnings, load_box
    from finishplan.paint.mixing import recipe_json
    from finishplan.plan.assumptions import plan_warnings
    from finishplan.plan.settings import mix_settings

    ml = parse_volume(wishes.volume)
    settings = mix_settings(wishes.job, manner.cache)
    if not colours:
        _show_book(wishes, paints, table, manner, settings)
        return
    colours = [colour for said in colours for colour in _colours(said)]
    targets = [parse_colour(c)[0] for c in colours]
    with _naming(paints, table):
        box = load_box(table, None, paints)
        book = load_book(wishes.book, box.table) if wishes.book is not None else ()
        mixes, which = _each(targets, box, settings, book, wishes.as_drawn)
    if manner.as_json:
        print(json.dumps([recipe_json(mixes[i], ml, box) for i in which], indent=1, ensure_ascii=False))
    elif not manner.quiet:
        show_mixes([mixes[i] for i in which], list(colours), ml, box)
    # Warnings call a colour as it was asked for, `lab(...)` or in capitals, not by our hex of it.
    asked = {mixes[i].drawn_hex: colour for i, colour in zip(which, colours, strict=True)}
    missed = plan_warnings(mixes, box, additions_note(advice(mixes, box, settings), asked), asked)
    for line in (*box_warnings(box), *missed):
        terminal.warn(line)


def _each(
    targets: Sequence["Lab"], box: "Box", settings: "MixSettings", book: tuple["BookMix", ...], as_drawn: bool
) -> tuple[tuple["Mix", ...], Sequence[int]]:
    """A mix for each colour by itself: none is shared; the book's where it serves."""
    from finishplan.paint.mixing import Wishes, find_mixes, letters

    if not book:
        # Each by itself: colours asked for one by one want their own recipes, be they ever so near.
        return find_mixes(targets, box, replace(settings, within=0.0), None, screen=as_drawn)
    # With a book the tolerance has a meaning, how far its mixes may lie; asked one at a time, none is shared.
    found = [find_mixes([t], box, settings, Wishes(book=book), screen=as_drawn)[0][0] for t in targets]
    return tuple(replace(m, id=letters(n)) for n, m in enumerate(found)), range(len(found))


def _colours(said: str) -> list[str]:
    """The colours of a GIMP palette, or what was said. Raises InputError."""
    if not said.lower().endswith(".gpl"):
        return [said]
    from finishplan.basics.text_files import text_of
    from finishplan.paint.book_palette import read_gpl

    return [hex for _, hex in read_gpl(text_of(Path(said), 1_000_000, "a GIMP palette"), said)]


def _show_book(
    wishes: MixWishes, paints: Path | None, table: Path | None, manner: Manner, settings: "MixSettings"
) -> None:
    from finishplan.cli.book_commands import show_book
    from finishplan.paint.box import load_box

    if wishes.book is None:
        raise InputError("no colour is named", where="mix", cure="write one as '#d9a02a', or show a book with --book")
    with _naming(paints, table):
        box = load_box(table, None, paints)
    show_book(wishes.book, box, settings, manner)


def show_box(paints: Path | None, table: Path | None, manner: Manner) -> None:
    """Print the paints of the box, or check and show a colour table. Raises InputError."""
    from finishplan.paint.box import load_box
    from finishplan.paint.report import OPACITY_LEGEND, box_json, paint_facts

    with _naming(paints, table):
        box = load_box(table, None, paints)
    if manner.as_json:
        print(json.dumps(box_json(box), indent=1, ensure_ascii=False))
    elif not manner.quiet:
        show_paints(box, paint_facts(box))
        terminal.say(f"- {OPACITY_LEGEND}")


def _naming(paints: Path | None, table: Path | None) -> AbstractContextManager[None]:
    """Within it, errors about these files name their options."""
    # Two keys at fault together have one place (basics/errors.py).
    options = {"paints.max_paints, max_parts": "--max-paints, --max-parts"}
    return naming("", options, {**file_wordings(paints, "--paints"), **file_wordings(table, "--table", table=True)})


def parse_volume(text: str) -> float:
    """Millilitres of '4ml'. Raises InputError for what is no volume."""
    found = re.fullmatch(r"\s*([0-9]+(?:\.[0-9]+)?)\s*(?:ml)?\s*", text.lower())
    if not found or not 0.05 <= float(found[1]) <= 10_000:
        raise InputError(f"'{text[:40]}' is not a volume", where="--volume", cure="write it as 4ml (0.05 to 10000)")
    return float(found[1])

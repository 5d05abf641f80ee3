"""`finishplan mix` and `finishplan box`: recipes, and the paints themselves."""

import json
import re
from collections.abc import Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, replace
from pathlib import Path

from finishplan.basics.errors import InputError, naming
from finishplan.cli import terminal
from finishplan.cli.tables import show_box as show_paints
from finishplan.cli.tables import show_mixes
from finishplan.cli.wishes import AS_USUAL, Manner
from finishplan.job.job import Job
from finishplan.plan.inputs import file_wordings


@dataclass(frozen=True)
class MixWishes:
    """volume: of the pot, as '4ml'. job: how recipes are chosen, and the finish. as_drawn: the colours are a
    drawing's."""

    volume: str = "2ml"
    job: Job = Job()
    as_drawn: bool = False


def mix_colours(
    colours: Sequence[str], wishes: MixWishes, paints: Path | None, table: Path | None, manner: Manner = AS_USUAL
) -> None:
    """Print a recipe for each colour. Raises InputError for what is no colour, volume or box."""
    from finishplan.colour.light import parse_colour
    from finishplan.paint.additions import additions_note
    from finishplan.paint.box import box_warnings, load_box
    from finishplan.paint.mixing import find_mixes, recipe_json
    from finishplan.plan.assumptions import plan_warnings
    from finishplan.plan.settings import mix_settings

    targets = [parse_colour(c)[0] for c in colours]
    ml = parse_volume(wishes.volume)
    settings = replace(mix_settings(wishes.job, manner.cache), within=0.0)
    with _naming(paints, table):
        box = load_box(table, None, paints)
        mixes, which = find_mixes(targets, box, settings, None, screen=wishes.as_drawn)
    if manner.as_json:
        print(json.dumps([recipe_json(mixes[i], ml, box) for i in which], indent=1, ensure_ascii=False))
    elif not manner.quiet:
        show_mixes([mixes[i] for i in which], list(colours), ml, box)
    asked = {mixes[i].drawn_hex: colour for i, colour in zip(which, colours, strict=True)}
    missed = plan_warnings(mixes, box, additions_note(mixes, box, settings, asked), asked)
    for line in (*box_warnings(box), *missed):
        terminal.warn(line)


def show_box(paints: Path | None, table: Path | None, manner: Manner = AS_USUAL) -> None:
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
    options = {"paints.max_paints, max_parts": "--max-paints, --max-parts"}
    return naming("", options, {**file_wordings(paints, "--paints"), **file_wordings(table, "--table", table=True)})


def parse_volume(text: str) -> float:
    """Millilitres of '4ml'. Raises InputError for what is no volume."""
    found = re.fullmatch(r"\s*([0-9]+(?:\.[0-9]+)?)\s*(?:ml)?\s*", text.lower())
    if not found or not 0.05 <= float(found[1]) <= 10_000:
        raise InputError(f"'{text[:40]}' is not a volume", where="--volume", cure="write it as 4ml (0.05 to 10000)")
    return float(found[1])

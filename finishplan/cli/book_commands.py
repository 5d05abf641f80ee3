"""`finishplan keep`, and the mix book in the terminal."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from finishplan.basics.errors import InputError, nearest
from finishplan.basics.files import write_together
from finishplan.basics.words import listed
from finishplan.cli import terminal
from finishplan.cli.planning import planner_of
from finishplan.cli.wishes import Manner
from finishplan.job.job import Job, area_name
from finishplan.plan.inputs import BOOK, Sources, book_of

if TYPE_CHECKING:
    from finishplan.drawing.model import Drawing
    from finishplan.paint.book import BookMix, Part
    from finishplan.paint.model import Box, Mix
    from finishplan.paint.settings import MixSettings


def keep_mixes(sources: Sources, wanted: Sequence[str], book: Path | None, gpl: Path | None, manner: Manner) -> None:
    """Put mixes of a plan, by letter or name, into the mix book, all where none is named. Raises InputError."""
    from finishplan.paint.book import looks, parse_book
    from finishplan.paint.book_palette import book_gpl
    from finishplan.paint.shelf import make_shelf
    from finishplan.plan.keeping import book_with, kept_mix

    with sources.naming(), terminal.progress(manner.silent) as progress:
        planner = planner_of(sources, manner, progress)
        painting = planner.painting(sources.job)
        kept = [kept_mix(painting, sources.job, m) for m in _named(painting.mixes, wanted)]
    # The book that the plan was made with grows; where there is none, one begins beside the job.
    path = book or sources.book or (sources.job_file or sources.drawing).parent / BOOK
    after = book_with(path, kept, painting.box.table)
    # Read as it will lie there, before it is written: a book that does not read back is never left.
    whole = parse_book(after, painting.box.table, str(path))
    files: dict[Path, bytes | str] = {path: after}
    if gpl is not None:
        shown = looks(whole, make_shelf(painting.box, painting.mix_settings), painting.box)
        files[gpl] = book_gpl(shown, path.stem)
    write_together(files)
    if manner.as_json:
        print(json.dumps([_told(m) for m in kept], indent=1, ensure_ascii=False))
    elif not manner.quiet:
        terminal.say(f"Kept in {listed(map(str, files))}: {listed(m.name for m in kept)}")


def _named(mixes: Sequence["Mix"], wanted: Sequence[str]) -> list["Mix"]:
    """The mixes of these letters or names. Raises InputError."""
    # Letters last: a mix that is named 'B' does not hide the mix B.
    called = {m.name.casefold(): m for m in mixes} | {m.id.casefold(): m for m in mixes}
    for said in wanted:
        if said.strip().casefold() not in called:
            cure = nearest(said, [m.name for m in mixes])
            raise InputError(f"no mix is called '{said[:60]}'", where="MIX", cure=cure)
    found = [called[said.strip().casefold()] for said in wanted] if wanted else list(mixes)
    return list({m.id: m for m in found}.values())


def _told(mix: "BookMix") -> dict[str, Any]:
    drops = [{"paint": p.paint, "drops": p.drops} | ({"into": p.into, "of": p.of} if p.of else {}) for p in mix.recipe]
    return {"name": mix.name, "recipe": drops, "lab": mix.lab, "came_out": mix.came_out, "used": list(mix.used)}


def show_book(path: Path, box: "Box", settings: "MixSettings", manner: Manner) -> None:
    """The book's mixes as swatches, with their recipes and where they are used. Raises InputError."""
    from finishplan.colour.light import hex_from_lab
    from finishplan.paint.book import book_warnings, load_book, looks
    from finishplan.paint.shelf import make_shelf

    book = load_book(path, box.table)
    shown = {m.name: look for m, look in looks(book, make_shelf(box, settings), box)}
    names = {p.id: p.name for p in (*box.table.paints, *box.paints)}
    if manner.as_json:
        print(json.dumps([_told(m) for m in book], indent=1, ensure_ascii=False))
    elif not manner.quiet:
        rows: list[list[terminal.Cell]] = [
            [
                (m.name, hex_from_lab(shown[m.name])) if m.name in shown else m.name,
                " + ".join(_drops(p, names) for p in m.recipe),
                "as it came out" if m.came_out else "predicted" if m.name in shown else "",
                m.date,
                "; ".join(m.used),
                m.note,
            ]
            for m in book
        ]
        terminal.table(["mix", "drops", "colour", "date", "used for", "note"], rows, f"Mix book {path}")
    for line in book_warnings(book, box):
        terminal.warn(line)


def _drops(part: "Part", names: Mapping[str, str]) -> str:
    let_down = f" let down 1:{part.of} in {names.get(part.into, part.into)}" if part.of else ""
    return f"{part.drops} {names.get(part.paint, part.paint)}{let_down}"


@dataclass(frozen=True)
class Nearness:
    """How a drawn colour, with the areas that have it, sits to the book: its nearest mix and the CIEDE2000."""

    hex: str
    areas: str
    mix: str
    delta_e: float


def nearness(sources: Sources, drawing: "Drawing", job: Job) -> tuple[Nearness, ...]:
    """How each colour of a drawing sits to the mix book; none where there is no book. Raises InputError."""
    if sources.book is None:
        return ()
    from finishplan.drawing.export import painted
    from finishplan.paint.aim import aims
    from finishplan.paint.book import closest, looks
    from finishplan.paint.box import load_box
    from finishplan.paint.shelf import make_shelf
    from finishplan.plan.settings import mix_settings

    with sources.naming():
        box = load_box(sources.table, sources.job.paints.own, sources.paints)
    settings, colours = mix_settings(job), painted(drawing)
    shown = looks(book_of(sources, box), make_shelf(box, settings), box)
    if not shown or not colours:
        return ()
    # Held against what a plan would aim at, not against the pixels: the two differ at white and black.
    aimed = [(L, a, b) for L, a, b in aims([c.lab for c in colours], box, settings).tolist()]
    return tuple(
        Nearness(c.hex, listed([area_name(job, id) for id in c.areas], 3), mix, round(far, 2))
        for c, (mix, far) in zip(colours, closest(aimed, shown), strict=True)
    )


def near_words(one: Nearness, within: float) -> str:
    """'coat: 1.8 from your mustard', 'scarf: nothing near, closest teal, 9.4 off'."""
    if one.delta_e <= within:
        return f"{one.areas}: {one.delta_e:.1f} from your {one.mix}"
    return f"{one.areas}: nothing near, closest {one.mix}, {one.delta_e:.1f} off"

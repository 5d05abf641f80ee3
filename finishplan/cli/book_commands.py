"""`finishplan keep`, and the mix book in the terminal."""

import json
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from finishplan.basics.errors import InputError, nearest
from finishplan.basics.files import write_together
from finishplan.basics.words import listed
from finishplan.cli import terminal
from finishplan.cli.planning import planner_of
from finishplan.cli.wishes import Manner
from finishplan.job.job import Job, MixJob, area_name
from finishplan.plan.inputs import BOOK, Sources

if TYPE_CHECKING:
    from finishplan.paint.book import BookMix
    from finishplan.paint.model import Mix
    from finishplan.plan.plan import Painting

_LONGEST_BOOK = 1_000_000


def keep_mixes(sources: Sources, wanted: Sequence[str], book: Path | None, gpl: Path | None, manner: Manner) -> None:
    """Put mixes of a plan, by letter or name, into the mix book, all where none is named. Raises InputError."""
    from finishplan.basics.text_files import text_of
    from finishplan.paint.book import book_gpl, looks, parse_book, with_mixes
    from finishplan.paint.shelf import make_shelf

    with sources.naming(), terminal.progress(manner.silent) as progress:
        planner, _ = planner_of(sources, manner, progress, None)
        painting = planner.painting(sources.job)
        kept = [_kept(painting, sources.job, m) for m in _named(painting.mixes, wanted)]
    path = book or sources.book or (sources.job_file or sources.drawing).parent / BOOK
    before = text_of(path, _LONGEST_BOOK, "a mix book (TOML)") if path.is_file() else ""
    parse_book(before, painting.box.table, str(path))
    after = with_mixes(before, kept)
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
    called = {m.name.casefold(): m for m in mixes} | {m.id.casefold(): m for m in mixes}
    for said in wanted:
        if said.strip().casefold() not in called:
            cure = nearest(said, [m.name for m in mixes])
            raise InputError(f"no mix is called '{said[:60]}'", where="MIX", cure=cure)
    found = [called[said.strip().casefold()] for said in wanted] if wanted else list(mixes)
    return list({m.id: m for m in found}.values())


def _kept(painting: "Painting", job: Job, mix: "Mix") -> "BookMix":
    """What the book keeps of a mix: where it is used; the drops poured and their dab's colour where that was measured
    and nothing was added after it."""
    from finishplan.colour.light import parse_colour
    from finishplan.paint.book import book_mix, drops_parts

    areas = [id for id, i in painting.mix_of if painting.mixes[i].id == mix.id]
    places = listed((area_name(job, id) for id in areas), 3)
    used = (f"{painting.scheme.name}: {places}",)
    said = job.mixes.get(mix.name, MixJob())
    came = said.came_out if said.poured and not said.add else ""
    kept = book_mix(mix, mix.from_book or mix.name, parse_colour(came)[0] if came else None, painting.date, used)
    return replace(kept, recipe=drops_parts(said.proven, painting.box.table)) if came else kept


def _told(mix: "BookMix") -> dict[str, Any]:
    drops = [{"paint": p.paint, "drops": p.drops} | ({"into": p.into, "of": p.of} if p.of else {}) for p in mix.recipe]
    return {"name": mix.name, "recipe": drops, "lab": mix.lab, "came_out": mix.came_out, "used": list(mix.used)}

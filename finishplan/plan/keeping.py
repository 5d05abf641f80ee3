"""What the maker's mix book keeps of a plan's mixes."""

from dataclasses import replace
from pathlib import Path

from finishplan.basics.files import write_whole
from finishplan.basics.text_files import text_of
from finishplan.basics.words import listed
from finishplan.colour.light import parse_colour
from finishplan.job.job import Job, MixJob, area_name
from finishplan.paint.book import BookMix, book_mix, drops_parts, parse_book, with_mixes
from finishplan.paint.model import ColourTable, Mix
from finishplan.plan.plan import Painting

_LONGEST_BOOK = 1_000_000
"""Bytes; as the book is read (our limit)."""


def kept_mix(painting: Painting, job: Job, mix: Mix) -> BookMix:
    """What the book keeps of a mix: where it is used; the drops poured and their dab's colour where that was measured
    and nothing was added after it."""
    areas = [id for id, i in painting.mix_of if painting.mixes[i].id == mix.id]
    places = listed((area_name(job, id) for id in areas), 3)
    used = (f"{painting.scheme.name}: {places}",)
    said = job.mixes.get(mix.name, MixJob())
    # With drops advised after it, the dab no longer shows what is in the pot.
    came = said.came_out if said.poured and not said.add else ""
    kept = book_mix(mix, mix.from_book or mix.name, parse_colour(came)[0] if came else None, painting.date, used)
    return replace(kept, recipe=drops_parts(said.proven, painting.box.table)) if came else kept


def book_with(path: Path, kept: list[BookMix], table: ColourTable) -> str:
    """The text of the book at `path`, which need not be there yet, with these mixes. Raises InputError."""
    before = text_of(path, _LONGEST_BOOK, "a mix book (TOML)") if path.is_file() else ""
    # A book that cannot be read is refused before anything is put into it.
    parse_book(before, table, str(path))
    return with_mixes(before, kept)


def keep_in_book(path: Path, painting: Painting, job: Job, mix: Mix) -> str:
    """Put a mix into the book at `path`, and the name that it has there. Raises InputError."""
    kept = kept_mix(painting, job, mix)
    text = book_with(path, [kept], painting.box.table)
    parse_book(text, painting.box.table, str(path))
    write_whole(path, text)
    return kept.name

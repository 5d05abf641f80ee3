"""`finishplan areas`: the reading alone."""

import json
from dataclasses import asdict
from pathlib import Path

from finishplan.basics.files import write_together
from finishplan.cli import outputs, terminal
from finishplan.cli.book_commands import near_words, nearness
from finishplan.cli.job_file import Wishes, laid
from finishplan.cli.tables import show_drawing
from finishplan.cli.wishes import Manner
from finishplan.drawing.stored import NAME
from finishplan.plan.inputs import Sources, reading_of
from finishplan.plan.settings import mix_settings


def areas_folder(sources: Sources, out: Path | None, manner: Manner, files: Wishes) -> None:
    """Read a drawing and write the numbered picture, the palette in open formats and a job file to edit.

    Raises InputError.
    """
    from finishplan.drawing.export import drawing_json, palette_css, palette_csv, palette_gpl
    from finishplan.job.read import parse_job
    from finishplan.scheme.scale import told_scale
    from finishplan.sheets.pictures import palette_picture

    with sources.naming(), terminal.progress(manner.silent) as progress:
        progress("reading the drawing", 0.1)
        reading = reading_of(sources, manner.max_megapixels)
        drawing, folder = reading.drawing, outputs.folder_for(sources, out, "areas")
        made: dict[Path, bytes | str] = {
            folder / "areas.png": outputs.numbered_png(drawing),
            folder / "palette.png": outputs.png(palette_picture(drawing)),
            folder / "palette.gpl": palette_gpl(drawing),
            folder / "palette.css": palette_css(drawing),
            folder / "palette.csv": palette_csv(drawing),
        }
        with outputs.writing(folder):
            job = laid(sources, reading, folder, files)
            made |= job.files
            outputs.spare_inputs(made, sources)
            write_together(made)
    scale = told_scale(drawing, sources.job)
    for line in job.said:
        terminal.warn(line)
    # Of the job as it is written now, with what was accepted and with its names.
    near = nearness(sources, drawing, parse_job(job.text))
    if manner.as_json:
        book = {"book": [asdict(n) for n in near]} if near else {}
        print(json.dumps(drawing_json(drawing, scale) | book, indent=1, ensure_ascii=False))
    elif not manner.quiet:
        # The kept reading is a hidden file for the next command, of no use to a maker.
        listed_files = [file for file in made if file.name != NAME]
        show_drawing(drawing, parse_job(job.text), listed_files, scale)
        for one in near:
            terminal.say(f"- {near_words(one, mix_settings(sources.job).within)}")

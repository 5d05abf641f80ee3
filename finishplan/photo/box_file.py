"""The learned tubes as a box file that every command takes."""

from dataclasses import replace

import tomlkit

from finishplan.paint.model import Box
from finishplan.paint.swatch import swatch_entry
from finishplan.photo.model import Calibration


def learned_box_text(learned: Calibration, box: Box, date: str) -> str:
    """TOML of a box whose paints carry what the photographs taught. Stock and prices are kept."""
    known = {p.id for p in box.table.paints}
    document = tomlkit.document()
    document.add(tomlkit.comment(f"Paints learned from photographs of a swatch card, {date}."))
    document.add(tomlkit.comment("K and S per mm of dry film, 400 to 700 nm; uncertainty: CIEDE2000, one sigma."))
    entries = tomlkit.aot()
    for tube in learned.tubes:
        paint = replace(tube.paint, swatch_off=tube.uncertainty)
        entries.append(tomlkit.item(swatch_entry(paint, paint.id in known, date, tube.begun)))
    document.add("paint", entries)
    return tomlkit.dumps(document)

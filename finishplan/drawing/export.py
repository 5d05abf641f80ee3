"""The reading as JSON, and the palette in open formats for a drawing program."""

import csv
import io
import re
from typing import Any

from finishplan.drawing.model import Area, Detail, Drawing, Edge, PaletteColour


def drawing_json(drawing: Drawing, mm_per_px: float | None = None) -> dict[str, Any]:
    """The whole reading but its pixels. Lengths in pixels of the drawing, colours sRGB and CIE Lab D65, shares 0-1.

    mm_per_px: the drawing's scale, where it is known: areas get their cm2 as drawn and their widths in mm too, edges
    their length in mm.
    """
    return {
        "source": drawing.source,
        "size": list(drawing.size),
        "mm_per_px": mm_per_px,
        "kind": drawing.kind,
        "sheet": None if drawing.sheet is None else [list(corner) for corner in drawing.sheet],
        "ink": drawing.ink,
        "paper": drawing.paper,
        "palette": [
            {"hex": c.hex, "lab": list(c.lab), "share": round(c.share, 6), "areas": list(c.areas)}
            for c in drawing.palette
        ],
        "areas": [_area(area, drawing, mm_per_px) for area in drawing.areas],
        "edges": [_edge(edge, mm_per_px) for edge in drawing.edges],
        "parts": [
            {
                "name": part.name,
                "areas": list(part.areas),
                "bbox": list(part.bbox),
                "pixels": round(part.pixels, 1),
                "twin_of": None if part.twin_of is None else drawing.parts[part.twin_of].name,
                "mirrored": part.mirrored,
            }
            for part in drawing.parts
        ],
        "details": [_stroke(s) for s in drawing.details],
        "notes": list(drawing.notes),
    }


def _stroke(stroke: Detail) -> dict[str, Any]:
    return {
        "area": stroke.area,
        "at": list(stroke.at),
        "length_px": stroke.length_px,
        "width_px": stroke.width_px,
        "hex": stroke.hex,
        "alone": stroke.alone,
    }


def _area(area: Area, drawing: Drawing, mm_per_px: float | None) -> dict[str, Any]:
    known = {} if mm_per_px is None else area_mm(area, mm_per_px)
    return {
        "id": area.id,
        "part": drawing.parts[area.part].name,
        "colour": area.colour,
        "hex": area.hex,
        "lab": list(area.lab),
        "share": round(area.share, 6),
        "pixels": round(area.pixels, 1),
        "narrow_px": area.narrow_px,
        "wide_px": area.wide_px,
        **known,
        "label_xy": list(area.label_xy),
        "bbox": list(area.bbox),
        "enclosed_by": area.enclosed_by,
        "shades": [{"kind": s.kind, "hex": s.hex, "lab": list(s.lab), "share": round(s.share, 6)} for s in area.shades],
        "hints": [{"flag": h.flag, "why": h.why, "other": h.other} for h in area.hints],
    }


def area_mm(area: Area, mm_per_px: float) -> dict[str, float]:
    """The area as drawn in cm2, its narrowest and widest place in mm."""
    return {
        "cm2": round(area.pixels * mm_per_px**2 / 100, 4),
        "narrow_mm": round(area.narrow_px * mm_per_px, 2),
        "wide_mm": round(area.wide_px * mm_per_px, 2),
    }


def _edge(edge: Edge, mm_per_px: float | None) -> dict[str, Any]:
    known = {} if mm_per_px is None else {"length_mm": round(edge.length_px * mm_per_px, 2)}
    return {
        "areas": list(edge.areas),
        "length_px": edge.length_px,
        **known,
        "straightness": edge.straightness,
        "soft": edge.soft,
    }


def _names(drawing: Drawing) -> tuple[str, ...]:
    from finishplan.colour.names import unique_names

    return unique_names([colour.lab for colour in painted(drawing)])


def painted(drawing: Drawing) -> tuple[PaletteColour, ...]:
    """The colours of the palette that some area is painted in."""
    return tuple(colour for colour in drawing.palette if colour.areas)


def palette_gpl(drawing: Drawing) -> str:
    """The palette in GIMP's format, which most drawing programs read."""
    title = re.sub(r"[^\w .-]", " ", drawing.source).strip() or "drawing"
    lines = ["GIMP Palette", f"Name: {title}", "Columns: 8", "#"]
    for colour, name in zip(painted(drawing), _names(drawing), strict=True):
        r, g, b = bytes.fromhex(colour.hex[1:])
        lines.append(f"{r:3d} {g:3d} {b:3d}\t{name}")
    return "\n".join(lines) + "\n"


def palette_css(drawing: Drawing) -> str:
    """The palette as CSS custom properties."""
    lines = [
        f"  --{re.sub(r'[^a-z0-9]+', '-', name.lower()).strip('-')}: {colour.hex};"
        for colour, name in zip(painted(drawing), _names(drawing), strict=True)
    ]
    return "\n".join([":root {", *lines, "}"]) + "\n"


def palette_csv(drawing: Drawing) -> str:
    """The palette as CSV: name, hex, L*, a*, b*, share of the figure (0-1), the numbers of its areas."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["name", "hex", "L", "a", "b", "share", "areas"])
    for colour, name in zip(painted(drawing), _names(drawing), strict=True):
        writer.writerow([name, colour.hex, *colour.lab, round(colour.share, 6), " ".join(map(str, colour.areas))])
    return out.getvalue()

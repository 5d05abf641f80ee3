"""The drawing as a browser can show it: upright, its sheet straightened as it was read, no larger than a screen."""

import io
from pathlib import Path

import numpy as np
from PIL import Image

from finishplan.drawing.load import FORMATS, TURNS, decoding, load
from finishplan.drawing.model import Drawing
from finishplan.drawing.sheet import straightened

LONGEST_PX = 2400
"""Of the picture that is sent (our rule: twice a wide window's height)."""
ORIENTATION = 0x0112


def shown(path: Path, drawing: Drawing | None, max_megapixels: int = 100) -> tuple[bytes, str]:
    """The picture and its media type: PNG for flat drawings, JPEG for scans and photographs. drawing: as it was read,
    None while it is not. Raises InputError for what cannot be decoded."""
    if path.suffix.lower() == ".ora":
        image = load(path, max_megapixels).image.convert("RGB")
    else:
        with decoding(path, max_megapixels), Image.open(path, formats=FORMATS) as opened:
            image = _upright(opened)
    sheet = None if drawing is None else drawing.sheet
    if sheet is not None:
        image = Image.fromarray(straightened(np.asarray(image), np.array(sheet, float)))
    # Straightened first: the corners of the sheet are in the file's own pixels.
    image.thumbnail((LONGEST_PX, LONGEST_PX))
    out, flat = io.BytesIO(), drawing is not None and drawing.kind == "flat"
    # JPEG would fray the edges of flat colours; a photograph as PNG is many times larger.
    if flat:
        image.save(out, "PNG", compress_level=3)
    else:
        image.save(out, "JPEG", quality=88)
    return out.getvalue(), "image/png" if flat else "image/jpeg"


def _upright(opened: Image.Image) -> Image.Image:
    """RGB on white paper, turned as its file says (Exif 2.32, tag 274)."""
    turn = TURNS.get(opened.getexif().get(ORIENTATION, 1))
    if "A" in opened.mode or "transparency" in opened.info:
        over = opened.convert("RGBA")
        image = Image.new("RGB", over.size, "white")
        image.paste(over, mask=over.getchannel("A"))
    else:
        image = opened.convert("RGB")
    return image if turn is None else image.transpose(turn)

"""A small drawing of three pieces' worth of areas, drawn here so that it is read in a moment: invented."""

import io

from PIL import Image, ImageDraw


def toadstool(scale: int = 1) -> bytes:
    """A PNG, 320 x 240 times `scale`: a cap with three spots on a stem, and a stone beside it."""
    image = Image.new("RGB", (320 * scale, 240 * scale), "#f8f5ee")
    draw = ImageDraw.Draw(image)

    def ellipse(box: tuple[int, int, int, int], fill: str) -> None:
        draw.ellipse([v * scale for v in box], fill, "#261c20", 3 * scale)

    draw.rectangle([v * scale for v in (85, 110, 125, 220)], "#f8e6b4", "#261c20", 3 * scale)
    ellipse((30, 20, 180, 130), "#be2b34")
    for box in ((55, 45, 80, 70), (100, 40, 130, 70), (138, 84, 148, 94)):
        ellipse(box, "#ffffff")
    ellipse((210, 150, 300, 220), "#5d7a3c")
    ellipse((235, 165, 275, 200), "#93a366")
    out = io.BytesIO()
    image.save(out, "PNG")
    return out.getvalue()

"""Paragraphs, set quickly: a style is made once, plain text needs no parser, lines are broken once for a width."""

from functools import cache
from typing import Any

from reportlab.lib.colors import Color
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import Paragraph


class Text(Paragraph):  # type: ignore[misc]
    """A paragraph that keeps its lines while it is asked for the same width: it is measured, placed, then drawn."""

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        """Width and height."""
        if getattr(self, "blPara", None) is None or available_width != self.width:
            super().wrap(available_width, available_height)
        return self.width, self.height


@cache
def style(font: str, size: float, rgb: tuple[float, float, float], **more: Any) -> ParagraphStyle:
    """The style of these settings; nobody may change it."""
    return ParagraphStyle("s", fontName=font, fontSize=size, textColor=Color(*rgb), splitLongWords=1, **more)


def plain(text: str, look: ParagraphStyle) -> Text:
    """A paragraph of one line's text without markup; runs of spaces count as one, no-break spaces as they are."""
    words = " ".join(word for word in text.split(" ") if word)
    return Text("", look, frags=[_model(look).clone(text=words)] if words else [])


@cache
def _model(look: ParagraphStyle) -> Any:
    """The run of text that reportlab's parser makes in that style."""
    return Paragraph("x", look).frags[0]

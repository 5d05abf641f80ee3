"""Paragraphs, set quickly: a style is made once, plain text needs no parser, lines are broken once for a width."""

import re
from functools import cache
from html import unescape
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


_RUN = re.compile(
    r'(?P<sized><font size="(?P<size>\d+)">)?<font name="(?P<face>[^"]+)">(?P<marked>[^<]*)</font>(?(sized)</font>)'
    r"|(?P<bare>[^<]+)"
)


def rich(markup: str, look: ParagraphStyle) -> Text:
    """A paragraph of runs as `Look.mark` makes them, some in a size of their own, and of text between, without
    reportlab's parser, which takes longer than all else of a paragraph. Other markup is left to it."""
    frags, at, said = [], 0, ""
    for run in _RUN.finditer(markup):
        if run.start() != at:
            break
        at, text = run.end(), unescape(run["marked"] or run["bare"] or "")
        other = {"fontName": run["face"]} if run["face"] else {}
        if run["size"]:
            other["fontSize"] = int(run["size"])
        if text:
            frags.append(_model(look).clone(text=text, **other))
            said += text
    if at < len(markup) or "  " in said:  # where runs meet, the parser sets one space
        return Text(markup, look)
    return Text("", look, frags=frags)


@cache
def _model(look: ParagraphStyle) -> Any:
    """The run of text that reportlab's parser makes in that style."""
    return Paragraph("x", look).frags[0]

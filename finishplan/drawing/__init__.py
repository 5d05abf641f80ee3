"""Reading a drawing: formats, paper, ink lines, colours, areas, edges, parts.

`read_drawing` is imported when first asked for, so that its dataclasses can be had without the reading.
"""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from finishplan.drawing.read import read_drawing

__all__ = ["read_drawing"]


def __getattr__(name: str) -> Any:
    if name not in __all__:
        raise AttributeError(f"finishplan.drawing has no '{name}'")
    from finishplan.drawing.read import read_drawing

    return read_drawing

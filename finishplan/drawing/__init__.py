"""Reading a drawing: formats, paper, ink lines, colours, areas, edges, parts."""

from finishplan.drawing.read import read_drawing

__all__ = ["read_drawing"]

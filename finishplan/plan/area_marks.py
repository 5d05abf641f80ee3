"""Areas called by marks while the order is settled, their names written into its texts afterwards.

So the order hangs on no name, and a new name settles nothing anew. A mark is no character that a job file can hold.
"""

import re
from dataclasses import fields, is_dataclass, replace
from typing import Any

from finishplan.order.model import PaintingOrder
from finishplan.scheme.model import Scheme

_MARK = re.compile("\ue000([0-9]+)\ue001")
"""Of Unicode's private use area: not printable, so refused in every text of a maker."""


def with_marks(scheme: Scheme) -> Scheme:
    """The scheme without a title and notes, each area under a mark in place of its name."""
    areas = tuple(replace(a, name=f"\ue000{a.id}\ue001") for a in scheme.areas)
    return replace(scheme, name="", notes=(), areas=areas)


def named_order(order: PaintingOrder, scheme: Scheme) -> PaintingOrder:
    """The order of a scheme with marks, its texts with the names of this one."""
    names = {str(a.id): a.name for a in scheme.areas}

    def written(value: Any) -> Any:
        if isinstance(value, str):
            # Most texts name no area.
            return _MARK.sub(lambda found: names[found[1]], value) if "\ue000" in value else value
        if isinstance(value, tuple):
            return tuple(written(v) for v in value)
        if not is_dataclass(value) or isinstance(value, type):
            return value
        # What names no area stays the same object, so that whoever compares it later is done at once.
        changed = {f.name: new for f in fields(value) if (new := written(old := getattr(value, f.name))) != old}
        return replace(value, **changed) if changed else value

    result: PaintingOrder = written(order)
    return result

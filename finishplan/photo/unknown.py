"""Tubes that the table does not know: which of its measured paints one of them looks most like, to begin from."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from finishplan.colour.light import delta_e, lab
from finishplan.paint.model import Box, Paint
from finishplan.photo.camera import scene_lab
from finishplan.photo.fit import lit_light
from finishplan.photo.model import Calibration, Field, Shot
from finishplan.photo.tubes import tube_model

Array = NDArray[np.float64]


def begun(shots: Sequence[Shot], learned: Calibration, box: Box) -> dict[str, Paint]:
    """Id of each tube known by its colour only -> the table's paint whose fields look most like its own as read with
    the cameras found (mean CIEDE2000), where that is nearer than the estimate itself."""
    tubes = {t.paint.id: t.paint for t in learned.tubes}
    white = tubes[str(box.white)]
    found = dict[str, Paint]()
    for paint in (p for p in box.paints if p.estimate and not p.taken_as):
        fields, seen = _seen(shots, learned, paint.id)
        if not fields:
            continue
        # The estimate itself stands first: of equals it is kept.
        off = {p.id: _off(fields, seen, (p, white), box) for p in (paint, *box.table.paints)}
        best = min(off, key=lambda id: off[id])
        if best != paint.id:
            found[paint.id] = next(p for p in box.table.paints if p.id == best)
    return found


def begun_box(box: Box, starts: dict[str, Paint]) -> Box:
    """The box whose unknown tubes have the K and S of the paints they begin from."""
    paints = tuple(replace(p, K=s.K, S=s.S) if (s := starts.get(p.id)) is not None else p for p in box.paints)
    return replace(box, paints=paints)


def _seen(shots: Sequence[Shot], learned: Calibration, paint: str) -> tuple[list[Field], Array]:
    """The fields of a paint on all shots and their L*a*b* (n, 3)."""
    fields, colours = list[Field](), list[Array]()
    for shot, camera in zip(shots, learned.cameras, strict=True):
        own = [i for i, f in enumerate(shot.fields) if f.paint == paint]
        fields += [shot.fields[i] for i in own]
        colours += [*scene_lab(lit_light(shot, camera, shot.rgb[own], shot.xy[own]), camera)]
    return fields, np.array(colours).reshape(-1, 3)


def _off(fields: Sequence[Field], seen: Array, pair: tuple[Paint, Paint], box: Box) -> float:
    """Mean CIEDE2000 of fields seen (n, 3) from those of a paint with the white."""
    named = [replace(f, paint=pair[0].id) for f in fields]
    model = tube_model(pair, 1, named, box.table.k1, box.table.k2)
    colours = lab(model.seen(np.zeros((2, model.spread.shape[1])), np.zeros(len(fields)), 0.0))
    return float(delta_e(colours, seen).mean())

"""What a photograph of a swatch card says, and what is learned from it. Reflectances 0-1, colours CIE L*a*b* D65."""

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from finishplan.colour.lab import Lab
from finishplan.paint.model import Paint

Array = NDArray[np.float64]
FieldKind = Literal["full", "tint", "thin", "bar", "dab"]
TINT_SHARE = 0.1
"""1 drop in 9 of white (Mohammadi, Berns 2006: a masstone and one tint)."""


@dataclass(frozen=True)
class Field:
    """One painted field of the card. paint: id, '' for the bare printed bar; kind: full (until it hides), tint (`share`
    of it in white, until it hides), thin (one thin coat over the printed black), bar, dab (of a mix, `paint` its
    letter); page: of the card."""

    paint: str
    kind: FieldKind
    share: float = 1.0
    page: int = 1


@dataclass(frozen=True, eq=False)
class Shot:
    """One photograph: the fields that could be read with their mean colour, (n, 3) coded sRGB 0-1, and places
    (n, 2) 0-1 on the card; the bare paper's (m, 3) and (m, 2); known: places of a published chart's patches with
    their XYZ (D65, white Y = 100), (k, 3) and (k, 3); left_out: fields that could not be read, and why."""

    fields: tuple[Field, ...]
    rgb: Array
    xy: Array
    paper_rgb: Array
    paper_xy: Array
    known_rgb: Array = field(default_factory=lambda: np.zeros((0, 3)))
    known_xy: Array = field(default_factory=lambda: np.zeros((0, 2)))
    known_xyz: Array = field(default_factory=lambda: np.zeros((0, 3)))
    left_out: tuple[tuple[Field, str], ...] = ()


@dataclass(frozen=True, eq=False)
class LearnedTube:
    """One tube as the photographs show it. paint: with its learned K and S; strength, scattering: factors on the
    table's; lab, table_lab: full strength, learned and as the table has it; uncertainty: CIEDE2000, one sigma, of its
    full strength and its tint, the larger; coat_um: the thin coat on the card, dry, None where it was not read; odd:
    squared distance from the usual tube, in sigmas (about 6 at random); begun: the table's paint that stands for the
    table's own, where the table does not know the tube."""

    paint: Paint
    strength: float
    scattering: float
    lab: Lab
    tint_lab: Lab
    table_lab: Lab
    table_tint_lab: Lab
    uncertainty: float
    coat_um: float | None
    odd: float
    begun: str = ""


@dataclass(frozen=True)
class DabColour:
    """A dab's colour with its uncertainty, CIEDE2000, one sigma. tubes: the paints as the references in the same
    photographs show them."""

    lab: Lab
    uncertainty: float
    tubes: tuple[Paint, ...] = ()


@dataclass(frozen=True, eq=False)
class Calibration:
    """What one or more photographs taught. cameras: (32,) for each photograph; loose:
    (32, 32) for each the same moved by one sigma along each axis of what is open; odd: for
    each how far it is from the usual phone, in sigmas, squared (32 at random); misfit: CIEDE2000, root mean square,
    of the fields read against what the learned tubes predict; bar_reflectance: of the printed black."""

    tubes: tuple[LearnedTube, ...]
    cameras: tuple[Array, ...]
    loose: tuple[Array, ...]
    odd: tuple[float, ...]
    misfit: float
    bar_reflectance: float

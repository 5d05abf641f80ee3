"""From spectra and screen colours to CIE XYZ and L*a*b*, 2 degree observer, and the difference of two colours.

Sources: CIE 015:2018 (XYZ, L*a*b*), ASTM E308 (the bands beyond 400-700 nm are folded into the end bands),
IEC 61966-2-1 (sRGB), ISO/CIE 11664-6 (CIEDE2000). Tables of observer and illuminants: colormath.
"""

import re
from functools import cache
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finishplan.basics.errors import InputError
from finishplan.colour.lab import Lab

Illuminant = Literal["D65", "A"]
Array = NDArray[np.float64]

WAVELENGTHS_NM: NDArray[np.int64] = np.arange(400, 701, 10)
_TABLE_START_NM = 340
"""Bands of colour science (CIE 015:2018, ASTM E308); first wavelength of colormath's tables."""
_TURN = 2 * np.pi
_EPSILON, _KAPPA = 216 / 24389, 24389 / 27
_SRGB_TO_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
_SRGB_WHITE = _SRGB_TO_XYZ.sum(axis=1)
_XYZ_TO_SRGB = np.linalg.inv(_SRGB_TO_XYZ)  # the standard prints it rounded: colours would not come back exactly
"""L*a*b*: the exact fractions of CIE 015:2018. sRGB: IEC 61966-2-1."""


@cache
def weights(illuminant: Illuminant = "D65") -> Array:
    """(31, 3) weights that turn a reflectance (0-1) into XYZ; a perfect reflector has Y = 100."""
    from colormath import spectral_constants as cie

    power = {"D65": cie.REFERENCE_ILLUM_D65, "A": cie.REFERENCE_ILLUM_A}[illuminant]
    observer = np.stack([cie.STDOBSERV_X2, cie.STDOBSERV_Y2, cie.STDOBSERV_Z2], axis=1)
    full = observer * power[:, None]
    # Scaled before the ends are cut off: with its tails folded in, a perfect reflector still has Y = 100.
    full *= 100 / full[:, 1].sum()
    first = (400 - _TABLE_START_NM) // 10
    inner: Array = full[first : first + len(WAVELENGTHS_NM)].copy()
    # ASTM E308: what lies beyond the measured range is given to the last band on either side.
    inner[0] += full[:first].sum(axis=0)
    inner[-1] += full[first + len(WAVELENGTHS_NM) :].sum(axis=0)
    # Cached and handed to everybody: nobody may write into it.
    inner.setflags(write=False)
    return inner


def xyz(R: ArrayLike, illuminant: Illuminant = "D65") -> Array:
    """Tristimulus values (..., 3) of reflectances (..., 31) from 0 to 1; white has Y = 100."""
    result: Array = np.asarray(R, dtype=np.float64) @ weights(illuminant)
    return result


def white_xyz(illuminant: Illuminant = "D65") -> Array:
    """(3,) tristimulus values of the perfect reflector."""
    total: Array = weights(illuminant).sum(axis=0)
    return total


def lab_from_xyz(XYZ: ArrayLike, white: ArrayLike | None = None) -> Array:
    """L*a*b* (..., 3) of tristimulus values (..., 3); white: its own (3,), that of D65 if not given."""
    ratio = np.asarray(XYZ, dtype=np.float64) / (white_xyz() if white is None else np.asarray(white))
    f = np.where(ratio > _EPSILON, np.cbrt(ratio), (_KAPPA * ratio + 16) / 116)
    L, a, b = 116 * f[..., 1] - 16, 500 * (f[..., 0] - f[..., 1]), 200 * (f[..., 1] - f[..., 2])
    return np.stack([L, a, b], axis=-1)


def xyz_from_lab(lab: ArrayLike, white: ArrayLike | None = None) -> Array:
    """Tristimulus values (..., 3) of L*a*b* (..., 3) under a white (3,), that of D65 if not given."""
    L, a, b = np.moveaxis(np.asarray(lab, dtype=np.float64), -1, 0)
    fy = (L + 16) / 116
    f = np.stack([fy + a / 500, fy, fy - b / 200], axis=-1)
    ratio = np.where(f**3 > _EPSILON, f**3, (116 * f - 16) / _KAPPA)
    result: Array = ratio * (white_xyz() if white is None else np.asarray(white))
    return result


def lab(R: ArrayLike, illuminant: Illuminant = "D65") -> Array:
    """L*a*b* (..., 3) of reflectances (..., 31) from 0 to 1, relative to the perfect reflector in that light."""
    return lab_from_xyz(xyz(R, illuminant), white_xyz(illuminant))


@cache
def _linear_of_byte() -> Array:
    v = np.arange(256) / 255
    return np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)


def lab_from_rgb8(rgb: ArrayLike) -> Array:
    """L*a*b* (..., 3) of 8-bit sRGB (..., 3); the screen's white is L* = 100, a* = b* = 0."""
    linear = _linear_of_byte()[np.asarray(rgb, dtype=np.uint8)]
    # The white of the sRGB matrix, not of the D65 table: white and greys of a screen then have a* = b* = 0 exactly.
    return lab_from_xyz(linear @ _SRGB_TO_XYZ.T, _SRGB_WHITE)


def rgb8_from_lab(lab: ArrayLike) -> NDArray[np.uint8]:
    """8-bit sRGB (..., 3) of L*a*b* (..., 3), channels clipped to what a screen shows."""
    linear = np.clip(xyz_from_lab(lab, _SRGB_WHITE) @ _XYZ_TO_SRGB.T, 0, 1)
    v = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)
    result: NDArray[np.uint8] = np.rint(255 * v).astype(np.uint8)
    return result


def lab_from_hex(text: str) -> Lab:
    """L*a*b* of '#rrggbb' or '#rgb'. Raises InputError for anything else."""
    digits = text.strip().removeprefix("#")
    if not re.fullmatch(r"[0-9a-fA-F]{3}|[0-9a-fA-F]{6}", digits):
        raise InputError(f"'{text}' is not a colour", cure="write it as '#rrggbb'")
    if len(digits) == 3:
        digits = "".join(2 * c for c in digits)
    L, a, b = lab_from_rgb8(list(bytes.fromhex(digits))).tolist()
    return L, a, b


def hex_from_lab(lab: ArrayLike) -> str:
    """'#rrggbb' of one L*a*b* colour (3,), clipped to what a screen shows."""
    return "#" + bytes(rgb8_from_lab(lab).tolist()).hex()


def parse_colour(text: str) -> tuple[Lab, str, bool]:
    """A colour as the user writes it: '#rrggbb' or 'lab(L a b)'.

    Returns L*a*b*, its '#rrggbb' and whether it is a screen's colour. Raises InputError.
    """
    match = re.fullmatch(r"\s*lab\(\s*(.+?)\s*\)\s*", text, flags=re.IGNORECASE)
    if match is None:
        lab = lab_from_hex(text)
        return lab, hex_from_lab(lab), True
    try:
        L, a, b = (float(v) for v in re.split(r"[\s,]+", match[1]))
    except ValueError:
        raise InputError(f"'{text}' is not a colour", cure="write 'lab(L a b)', as 'lab(60 20 40)'") from None
    if not (0 <= L <= 100 and abs(a) <= 160 and abs(b) <= 160):
        raise InputError(f"'{text}' is not a surface colour", cure="L from 0 to 100, a and b from -160 to 160")
    return (L, a, b), hex_from_lab((L, a, b)), False


def delta_e(lab1: ArrayLike, lab2: ArrayLike) -> Array:
    """CIEDE2000 (ISO/CIE 11664-6, kL = kC = kH = 1) between L*a*b* arrays (..., 3), which broadcast."""
    return _ciede2000(np.asarray(lab1, np.float64), np.asarray(lab2, np.float64))


def rough_delta_e(lab1: ArrayLike, lab2: ArrayLike) -> NDArray[np.float32]:
    """`delta_e` in float32, shapes as there: right to 0.001 and three times as fast, for millions of colours."""
    return _ciede2000(np.asarray(lab1, np.float32), np.asarray(lab2, np.float32))


def far_delta_e(lab1: ArrayLike, lab2: ArrayLike) -> NDArray[np.float32]:
    """CIEDE2000 without its blue term, in float32, shapes as in `delta_e`: for colours far apart.

    R_T was fitted to small differences between blues. Of colours that are a hundred degrees of hue apart with a mean
    near 275 it takes off most of the difference, so that a grey would lie nearer to a vivid pink than a dull pink does.
    """
    return _ciede2000(np.asarray(lab1, np.float32), np.asarray(lab2, np.float32), blue_term=False)


def _ciede2000(lab1: NDArray[Any], lab2: NDArray[Any], *, blue_term: bool = True) -> NDArray[Any]:
    """Written out, for a plan asks for it some hundred times for a handful of colours. Hues in radians."""
    (L1, a1, b1), (L2, a2, b2) = ((lab[..., 0], lab[..., 1], lab[..., 2]) for lab in (lab1, lab2))
    # G is taken from the mean chroma before a* is stretched.
    stretch = 1.5 - 0.5 * _chroma_share((_chroma(a1, b1) + _chroma(a2, b2)) / 2)
    a1, a2 = stretch * a1, stretch * a2
    C1, C2 = _chroma(a1, b1), _chroma(a2, b2)
    h1, h2 = np.arctan2(b1, a1), np.arctan2(b2, a2)
    h1, h2 = np.where(h1 < 0, h1 + _TURN, h1), np.where(h2 < 0, h2 + _TURN, h2)
    # Hues more than half a turn apart: the mean lies on the short way. Of a grey the hue does not matter, dH' is 0.
    across = np.abs(h2 - h1) > np.pi
    hue, L, C = (h1 + h2) / 2, ((L1 + L2) / 2 - 50) ** 2, (C1 + C2) / 2
    hue = np.where(across, hue + np.pi, hue)
    hue = np.where(hue >= _TURN, hue - _TURN, hue)
    # Signs in the type of the colours: whole numbers would turn float32 into float64.
    dH = 2 * np.sqrt(C1 * C2) * np.sin((h2 - h1) / 2) * np.where(across, -1, 1).astype(L.dtype)
    T = 1 - 0.17 * np.cos(hue - np.pi / 6) + 0.24 * np.cos(2 * hue)
    T += 0.32 * np.cos(3 * hue + np.pi / 30) - 0.2 * np.cos(4 * hue - np.pi * 63 / 180)
    light, c = (L2 - L1) / (1 + 0.015 * L / np.sqrt(20 + L)), (C2 - C1) / (1 + 0.045 * C)
    h = dH / (1 + 0.015 * C * T)
    square = light * light + c * c + h * h
    if blue_term:
        turn = np.pi / 3 * np.exp(-(((hue - np.pi * 275 / 180) / (np.pi * 25 / 180)) ** 2))
        square = square - 2 * _chroma_share(C) * np.sin(turn) * c * h
    # Below 0 only by rounding, for colours that are equal.
    return np.asarray(np.sqrt(np.maximum(square, 0)))


def _chroma(a: NDArray[Any], b: NDArray[Any]) -> NDArray[Any]:
    return np.asarray(np.sqrt(a * a + b * b))


def _chroma_share(C: NDArray[Any]) -> NDArray[Any]:
    """Near 0 for greys, near 1 for colours much stronger than C* = 25."""
    # By multiplication: some thousand float32 at a time, as the search asks, it is several times as quick as a power.
    square = C * C
    seventh = square * square * square * C
    return np.asarray(np.sqrt(seventh / (seventh + 25.0**7)))

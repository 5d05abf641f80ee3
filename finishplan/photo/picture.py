"""Opening a photograph whole: upright, in sRGB, every pixel of it."""

import io
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageCms, ImageOps

from finishplan.basics.errors import InputError
from finishplan.basics.text_files import check_file
from finishplan.drawing.load import decoding

MOST_MEGAPIXELS = 60.0
"""Phones take 12 to 50 (our rule: a little more than that)."""
CURES = (
    "save the photograph as JPEG, PNG, TIFF or WebP",
    "copy it from the phone once more, or take it again",
)
"""Of what is no picture, and of a damaged one."""
SMALLEST_SIDE = 900
"""Pixels; a card on a smaller picture shows under four a millimetre (our rule)."""
_FORMATS = ("JPEG", "PNG", "TIFF", "WEBP")
_HEIC = (b"ftypheic", b"ftypheix", b"ftypmif1", b"ftyphevc")


def open_photo(path: Path) -> NDArray[np.uint8]:
    """(h, w, 3) uint8 sRGB, turned upright by its EXIF tag, through its colour profile.

    Raises InputError for what is missing, no photograph, damaged, too large or too small.
    """
    if path.is_dir():
        raise InputError("this is a folder, not a photograph", where=str(path), cure="name the picture file in it")
    check_file(path)
    try:
        head = path.open("rb").read(16)
    except OSError as error:
        reason = error.strerror or str(error)
        raise InputError(f"cannot be read: {reason}", where=str(path), cure="check its name") from error
    formats = (*_FORMATS, "HEIF") if _is_heic(head, path) else _FORMATS
    with decoding(path, MOST_MEGAPIXELS, CURES), Image.open(path, formats=formats) as image:
        _check_size(image.size, str(path))
        upright = ImageOps.exif_transpose(image)
        return np.asarray(_srgb(upright if upright is not None else image))


def _check_size(size: tuple[int, int], where: str) -> None:
    said, megapixels = f"{size[0]} x {size[1]} pixels", size[0] * size[1] / 1e6
    if megapixels > MOST_MEGAPIXELS:
        cure = f"set the camera to fewer megapixels, or save it smaller: {MOST_MEGAPIXELS:g} megapixels at most"
        raise InputError(f"{said} are {megapixels:.0f} megapixels", where=where, cure=cure)
    if min(size) < SMALLEST_SIDE:
        cure = "send the photograph itself, not a preview or a screenshot of it"
        raise InputError(f"{said} is too small", where=where, cure=cure)


def _is_heic(head: bytes, path: Path) -> bool:
    """Whether it is HEIC, which Pillow is taught where the extra is installed. Raises InputError where it is not."""
    if head[4:12] not in _HEIC:
        return False
    try:
        from pi_heif import register_heif_opener  # type: ignore[import-not-found, unused-ignore]
    except ImportError as error:
        raise InputError(
            "HEIC pictures need an extra package", where=str(path), cure="save it as JPEG, or pip install pi-heif"
        ) from error
    register_heif_opener()
    return True


def _srgb(image: Image.Image) -> Image.Image:
    profile = image.info.get("icc_profile")
    if image.mode.startswith("I;16"):  # Pillow would clip, not scale, sixteen bits of grey
        image = Image.fromarray((np.asarray(image, np.uint16) >> 8).astype(np.uint8))
    image = image if image.mode in ("RGB", "L", "CMYK") else image.convert("RGB")
    if profile:
        try:
            source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
            done = ImageCms.profileToProfile(image, source, ImageCms.createProfile("sRGB"), outputMode="RGB")
            image = image if done is None else done
        except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
            image = image.convert("RGB")
    return image.convert("RGB")

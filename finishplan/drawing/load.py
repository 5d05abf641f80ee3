"""Opening a drawing: formats, sizes, frames, orientation, colour profiles, transparency.

The picture is decoded once and brought down to a working copy of at most `WORKING_PIXELS`, on which everything
else is found; colour profiles are applied to that copy, since they are exact per pixel and the copy is small.
"""

import io
import math
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from typing import IO

import numpy as np
from PIL import Image, UnidentifiedImageError

from finishplan.basics.errors import InputError
from finishplan.basics.files import printable
from finishplan.basics.progress import doing
from finishplan.basics.text_files import check_file
from finishplan.drawing.sheet import NOTE, Corners, proportions_note, straightened, true_size

WORKING_PIXELS = 900_000
SOFT_WORKING_PIXELS = 1_800_000
"""The same for scans and photographs, whose thin places need more than one pixel to show through the grain."""
SMALLEST_SIDE = 8
FORMATS = ("PNG", "JPEG", "TIFF", "WEBP", "GIF", "BMP")
FORMAT_CURE = "export the drawing as PNG, JPEG, TIFF, WebP, GIF, BMP or OpenRaster"
DAMAGE_CURE = "open it in a drawing program and export it again"
ORIENTATION_TAG, EXPOSURE_TAG, EXIF_IFD = 0x0112, 0x829A, 0x8769
TURNS = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}


@dataclass(frozen=True, eq=False)
class Loaded:
    """A decoded picture.

    size: (width, height) upright, in the file's own pixels. scale: working pixels per file pixel. camera: the file
    says that a camera took it. reduced: a JPEG of more pixels than were decoded. corner: (x, y) of the picture on its
    sheet, in the file's pixels, where it was cut out of one. layers: (name, (h, w) bool mask) of the top-level
    layers, topmost first.
    ink: (h, w) bool mask of a layer of lines, with its colour in ink_rgb. sheet: where the corners of this picture lie
    in the file's, in its pixels, where it is a sheet that was straightened.
    """

    source: str
    size: tuple[int, int]
    scale: float
    image: Image.Image = field(repr=False)
    turn: int = 1
    camera: bool = False
    reduced: bool = False
    corner: tuple[int, int] = (0, 0)
    layers: tuple[tuple[str, np.ndarray], ...] = ()
    ink: np.ndarray | None = None
    ink_rgb: tuple[int, int, int] | None = None
    notes: tuple[str, ...] = ()
    sheet: Corners | None = None

    def finer(self) -> "Loaded":
        """The same picture with the larger working copy for scans and photographs."""
        return replace(self, scale=scale_for(self.size, SOFT_WORKING_PIXELS))

    def cut(self, box: tuple[float, float, float, float]) -> "Loaded":
        """The picture inside `box`: left, top, right, bottom in parts of its width and height."""
        image = self.image.transpose(TURNS[self.turn]) if self.turn in TURNS else self.image
        left, top, right, bottom = (round(part * side) for part, side in zip(box, 2 * self.size, strict=True))
        across, down = image.size[0] / self.size[0], image.size[1] / self.size[1]
        image = image.crop((round(left * across), round(top * down), round(right * across), round(bottom * down)))
        size = (right - left, bottom - top)
        return replace(self, image=image, turn=1, size=size, corner=(left, top), scale=scale_for(size))

    def straightened(self, corners: Corners) -> "Loaded":
        """The sheet that has these corners in the file's pixels, as a picture of its own."""
        # Through its profile before it is warped: warping mixes colours, which only sRGB's may be here.
        image = _srgb(self.image.transpose(TURNS[self.turn]) if self.turn in TURNS else self.image, self._profile)[0]
        width, height = true_size(np.array(corners), self.size)
        size = (round(width), round(height))
        decoded = np.array(corners) * (image.size[0] / self.size[0], image.size[1] / self.size[1])
        image = Image.fromarray(straightened(np.asarray(image), decoded))
        return replace(
            self,
            image=image,
            turn=1,
            size=size,
            scale=scale_for(size),
            # A sheet on a table is a photograph, whatever its file says.
            camera=True,
            sheet=corners,
            notes=(*self.notes, NOTE, proportions_note(size)),
        )

    @property
    def _profile(self) -> bytes | None:
        profile: bytes | None = self.image.info.get("icc_profile")
        return profile

    @cached_property
    def rgb(self) -> np.ndarray:
        """(h, w, 3) uint8 sRGB of the working copy, each pixel one of the file's own (nothing averaged)."""
        return np.asarray(self._nearest[0])

    @cached_property
    def opaque(self) -> np.ndarray | None:
        """(h, w) bool, True where the picture is not transparent; None where it has no transparency."""
        alpha = self._nearest[1]
        if alpha is None:
            return None
        mask: np.ndarray = np.asarray(alpha) >= 128
        return None if mask.all() else mask

    @cached_property
    def averaged(self) -> np.ndarray:
        """(h, w, 3) uint8 sRGB of the working copy, each pixel the mean of those it stands for: quiets noise."""
        return np.asarray(self._working(Image.Resampling.BOX)[0])

    @cached_property
    def _nearest(self) -> tuple[Image.Image, Image.Image | None]:
        return self._working(Image.Resampling.NEAREST)

    def _working(self, method: Image.Resampling) -> tuple[Image.Image, Image.Image | None]:
        width, height = working_size(self.size, self.scale)
        # The turn is made after shrinking, so a quarter turn swaps the sides aimed at.
        target = (height, width) if self.turn >= 5 else (width, height)
        image = self.image
        if image.size != target:
            image = _plain(image) if method != Image.Resampling.NEAREST else image
            image = image.resize(target, method)
        if self.turn in TURNS:
            image = image.transpose(TURNS[self.turn])
        return _srgb(image, self._profile)


def load(path: Path, max_megapixels: float = 100, box: tuple[float, float, float, float] = (0, 0, 1, 1)) -> Loaded:
    """Decode the drawing at `path`: PNG, JPEG, TIFF, WebP, GIF, BMP (first frame) or OpenRaster.

    box: what of it will be looked at, in parts of its width and height: decides how finely a JPEG is decoded.

    Raises InputError for what is missing, unreadable, not a picture, cut short, too large or too small.
    """
    doing("Opening the picture")
    with _opened(path) as stream:
        head = stream.read(4)
        stream.seek(0)
        if not head:
            raise InputError("the file is empty", where=str(path), cure="save the drawing again")
        # Every zip begins so, and OpenRaster is one.
        if head[:2] == b"PK":
            from finishplan.drawing.openraster import load_openraster

            return load_openraster(stream, path, max_megapixels)
        with decoding(path, max_megapixels):
            return _load_picture(stream, path, max_megapixels, (box[2] - box[0]) * (box[3] - box[1]))


@contextmanager
def _opened(path: Path) -> Iterator[IO[bytes]]:
    where = str(path)
    if path.is_dir():
        raise InputError("this is a folder, not a drawing", where=where, cure="name the picture file in it")
    check_file(path)
    try:
        stream = path.open("rb")
    except FileNotFoundError as error:
        raise InputError("no such file", where=where, cure="check the name of the drawing") from error
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise InputError(f"cannot be read: {reason}", where=where, cure="check the file's permissions") from error
    with stream:
        yield stream


@contextmanager
def decoding(path: Path, max_megapixels: float, cures: tuple[str, str] = (FORMAT_CURE, DAMAGE_CURE)) -> Iterator[None]:
    """Raises one InputError for whatever Pillow raises within it on a broken or oversized picture; the size is ours to
    check. cures: of what is no picture, of a damaged one."""
    where, limit = str(path), Image.MAX_IMAGE_PIXELS
    # Pillow's own limit would refuse large scans; ours is checked by the picture's head, before any pixel.
    Image.MAX_IMAGE_PIXELS = None
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            yield
    except (InputError, KeyboardInterrupt):
        raise
    except UnidentifiedImageError as error:
        raise InputError("this is not a picture that can be read", where=where, cure=cures[0]) from error
    except MemoryError as error:
        raise InputError("not enough memory to decode it", where=where, cure="save it smaller") from error
    # Pillow's decoders raise nearly every type on damaged data: OSError, SyntaxError, struct.error, zlib.error ...
    except Exception as error:
        raise InputError("the picture is damaged or cut short", where=where, cure=cures[1]) from error
    finally:
        Image.MAX_IMAGE_PIXELS = limit


def check_size(size: tuple[int, int], path: Path, max_megapixels: float) -> None:
    """Refuse a picture by its (width, height), before any pixel is decoded. Raises InputError: too large, too small."""
    megapixels = size[0] * size[1] / 1e6
    if megapixels > max_megapixels:
        raise InputError(
            f"{size[0]} x {size[1]} is {megapixels:.0f} megapixels, over the limit of {max_megapixels:g}",
            where=str(path),
            cure=f"save it smaller, or raise the limit with --max-megapixels {math.ceil(megapixels)}",
        )
    if min(size) < SMALLEST_SIDE:
        raise InputError(
            f"{size[0]} x {size[1]} pixels is too small to read",
            where=str(path),
            cure="export the drawing with at least 400 pixels on its longer side",
        )


def scale_for(size: tuple[int, int], most: float = WORKING_PIXELS) -> float:
    """Working pixels per pixel of a picture (width, height) whose working copy has at most `most` pixels; at most 1."""
    return min(1.0, math.sqrt(most / (size[0] * size[1])))


def working_size(size: tuple[int, int], scale: float) -> tuple[int, int]:
    """(width, height) of the working copy of a picture of that size; scale: working pixels per pixel."""
    return max(1, round(size[0] * scale)), max(1, round(size[1] * scale))


def _load_picture(stream: IO[bytes], path: Path, max_megapixels: float, share: float) -> Loaded:
    image = Image.open(stream, formats=FORMATS)
    check_size(image.size, path, max_megapixels)
    exif = image.getexif()
    turn = exif.get(ORIENTATION_TAG, 1)
    turn = turn if turn in TURNS else 1
    # A camera writes an exposure time; a scanner or a drawing program does not.
    camera = EXPOSURE_TAG in exif.get_ifd(EXIF_IFD)
    frames = getattr(image, "n_frames", 1)
    size, scale = image.size, scale_for(image.size)
    if image.format in ("JPEG", "MPO"):
        # a JPEG can be decoded at 1/2, 1/4, 1/8 of its size, each pixel the mean of its block
        image.draft(image.mode, working_size(size, scale_for(size, SOFT_WORKING_PIXELS / share)))
    image.load()
    notes = []
    if frames > 1 and image.format not in ("JPEG", "MPO"):
        notes.append(f"the file holds {frames} pictures: the first was read")
    if image.mode == "CMYK" and "icc_profile" not in image.info:
        notes.append("CMYK without a colour profile: its colours are approximate")
    upright = (size[1], size[0]) if turn >= 5 else size
    return Loaded(printable(path.name), upright, scale, image, turn, camera, image.size != size, notes=tuple(notes))


def _plain(image: Image.Image) -> Image.Image:
    """The picture in a mode that may be averaged: palettes and 1-bit pictures are expanded."""
    if image.mode in ("P", "PA", "1"):
        return image.convert("RGBA" if image.mode == "PA" or "transparency" in image.info else "RGB")
    return image


def _eight_bit(image: Image.Image) -> Image.Image:
    """Grey of 16 or 32 bits, or floating point, as 8 bits."""
    if image.mode.startswith("I;16") or image.mode in ("I", "F"):
        values = np.asarray(image).astype(np.float64)
        finite = values[np.isfinite(values)]
        top = 1.0 if image.mode == "F" and (finite.size == 0 or finite.max() <= 1) else 65535.0
        top = 255.0 if image.mode == "F" and 1 < (finite.max() if finite.size else 0) <= 255 else top
        scaled = np.nan_to_num(values, nan=0, posinf=top, neginf=0) * (255 / top)
        return Image.fromarray(np.clip(np.rint(scaled), 0, 255).astype(np.uint8), "L")
    return image


def _srgb(image: Image.Image, profile: bytes | None) -> tuple[Image.Image, Image.Image | None]:
    """(sRGB picture, its alpha or None), through the embedded profile where there is one."""
    image = _plain(_eight_bit(image))
    alpha = None
    if image.mode in ("LA", "RGBA", "La", "RGBa"):
        image = image.convert({"La": "LA", "RGBa": "RGBA"}.get(image.mode, image.mode))
        alpha = image.getchannel("A")
    elif "transparency" in image.info:
        image = image.convert("RGBA")
        alpha = image.getchannel("A")
    if image.mode == "LAB":
        return _converted(image, None), alpha
    opaque = {"LA": "L", "RGBA": "RGB"}
    base = image.convert(opaque[image.mode]) if image.mode in opaque else image
    if profile:
        base = _converted(base if base.mode in ("L", "RGB", "CMYK") else base.convert("RGB"), profile)
    return base if base.mode == "RGB" else base.convert("RGB"), alpha


def _converted(image: Image.Image, profile: bytes | None) -> Image.Image:
    """The picture taken to sRGB by its profile; as it is where the profile is sRGB, damaged or of another kind."""
    from PIL import ImageCms

    target = ImageCms.createProfile("sRGB")
    try:
        if profile is None:
            source = ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB"))
        else:
            source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
            # sRGB already: a conversion from itself to itself could still move colours by a step.
            if "sRGB" in ImageCms.getProfileDescription(source):
                return image
        done = ImageCms.profileToProfile(image, source, target, outputMode="RGB")
    except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
        return image.convert("RGB")
    return image.convert("RGB") if done is None else done

"""OpenRaster (.ora): a zip of PNG layers and a stack.xml that orders them (the openraster baseline specification).

Nothing is unpacked to disk: members are read by the names the archive itself lists.
"""

import zipfile
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO
from xml.etree import ElementTree
from xml.parsers import expat

import numpy as np
from PIL import Image

from finishplan.basics.errors import InputError
from finishplan.basics.files import printable
from finishplan.drawing.load import Loaded, check_size, decoding, scale_for, working_size

PAPER_NAMES = ("paper", "background")
INK_NAMES = ("ink", "lines")
XML_LIMIT = 1_000_000
MAX_LAYERS = 200
MAX_TOP = 64
"""Layers and groups at the top, each kept as a picture of working size until all are read."""
MAX_ELEMENTS = 2_000
MAX_DEPTH = 32
MAX_NAME = 80
"""Letters, as of a part's name in a job file."""
MAX_TIMES_OVER = 10
"""Pixels of all layers, in pictures of the largest size allowed; they are decoded one at a time."""
FARTHEST = 10**8
CURE = "export the drawing as OpenRaster again, or as PNG"


@dataclass(frozen=True)
class _Layer:
    name: str
    image: Image.Image


def load_openraster(stream: IO[bytes], path: Path, max_megapixels: float) -> Loaded:
    """The picture and its top-level layers. Raises InputError when the archive is broken or too large: over
    `max_megapixels`, or its layers together over ten times that."""
    try:
        with zipfile.ZipFile(stream) as archive:
            return _load(archive, path, max_megapixels)
    # zipfile says 'encrypted' and 'unknown packing' with RuntimeError or a kind of it.
    except (zipfile.BadZipFile, KeyError, EOFError, RuntimeError) as error:
        raise InputError("the OpenRaster file is broken", where=str(path), cure=CURE) from error


def _load(archive: zipfile.ZipFile, path: Path, max_megapixels: float) -> Loaded:
    root = _stack(archive, path)
    size = _number(root, "w", path), _number(root, "h", path)
    check_size(size, path, max_megapixels)
    scale = scale_for(size)
    top = root.find("stack")
    items = [] if top is None else [e for e in top if e.tag in ("layer", "stack")]
    if len(items) > MAX_TOP or len(list(root.iter("layer"))) > MAX_LAYERS:
        what = f"more than {MAX_LAYERS} layers, or {MAX_TOP} side by side"
        raise InputError(what, where=str(path), cure="merge some of them")
    canvas = _Canvas(size, scale, _Budget(path, MAX_TIMES_OVER * max_megapixels * 1e6, max_megapixels))
    drawn = []
    for number, item in enumerate(items, 1):
        name = _name(item, number, path)
        # Layers are decoded one at a time and shrunk at once: their number must not decide the memory.
        image = _render(item, archive, canvas)
        if image is not None:
            drawn.append(_Layer(name, image))
    if not drawn:
        raise InputError("no visible layer", where=str(path), cure="make a layer visible, or export as PNG")
    return _combine(drawn, path, canvas)


def _name(item: ElementTree.Element, number: int, path: Path) -> str:
    """The layer's name on one line."""
    name = " ".join("".join(c if c.isprintable() else " " for c in item.get("name", "")).split())
    if len(name) > MAX_NAME:
        cure = f"rename it with at most {MAX_NAME}"
        raise InputError(f"the name of layer {number} has {len(name)} letters", where=str(path), cure=cure)
    return name or f"layer {number}"


def _stack(archive: zipfile.ZipFile, path: Path) -> ElementTree.Element:
    info = archive.getinfo("stack.xml")
    if info.file_size > XML_LIMIT:
        raise InputError("its stack.xml is too long", where=str(path), cure=CURE)
    try:
        return _parsed(archive.read(info), path)
    except (expat.ExpatError, ValueError, LookupError) as error:
        raise InputError("its stack.xml cannot be read", where=str(path), cure=CURE) from error


def _parsed(text: bytes, path: Path) -> ElementTree.Element:
    """The elements, in any encoding; a document type, which alone can define entities, is refused where it begins."""
    builder, parser = ElementTree.TreeBuilder(), expat.ParserCreate()
    count = depth = 0

    def refuse(*said: object) -> None:
        raise InputError("its stack.xml is not a plain list of layers", where=str(path), cure=CURE)

    def start(tag: str, attributes: dict[str, str]) -> None:
        nonlocal count, depth
        count, depth = count + 1, depth + 1
        if count > MAX_ELEMENTS or depth > MAX_DEPTH:
            refuse()
        builder.start(tag, attributes)

    def end(tag: str) -> None:
        nonlocal depth
        depth -= 1
        builder.end(tag)

    parser.StartDoctypeDeclHandler = refuse
    parser.StartElementHandler, parser.EndElementHandler = start, end
    parser.Parse(text, True)
    return builder.close()


def _number(element: ElementTree.Element, key: str, path: Path) -> int:
    """A whole number of pixels; one beyond FARTHEST is as far as can be told."""
    try:
        return max(-FARTHEST, min(FARTHEST, int(element.get(key, "0"))))
    except ValueError as error:
        raise InputError(f"its stack.xml has '{key}' that is not a whole number", where=str(path), cure=CURE) from error


@dataclass
class _Budget:
    """How many pixels of layers may yet be decoded."""

    path: Path
    pixels: float
    max_megapixels: float

    def spend(self, size: tuple[int, int]) -> None:
        """Raises InputError where a layer of this size is too much."""
        check_size((max(size[0], 8), max(size[1], 8)), self.path, self.max_megapixels)
        self.pixels -= size[0] * size[1]
        if self.pixels < 0:
            what = f"its layers are over {MAX_TIMES_OVER} times {self.max_megapixels:g} megapixels together"
            raise InputError(what, where=str(self.path), cure="merge some of them, or raise --max-megapixels")


@dataclass(frozen=True)
class _Canvas:
    """What the layers are drawn on: its size in pixels, the working pixels to one of them, and what came up on the
    way, blends that only covering stands for."""

    size: tuple[int, int]
    scale: float
    budget: _Budget
    blends: set[str] = field(default_factory=set)


def _render(item: ElementTree.Element, archive: zipfile.ZipFile, canvas: _Canvas) -> Image.Image | None:
    """A layer or a group at working size, RGBA; None when it is hidden."""
    if item.get("visibility", "visible") != "visible":
        return None
    blend = item.get("composite-op", "svg:src-over")
    if blend != "svg:src-over":
        canvas.blends.add(blend)
    if item.tag == "layer":
        image = _read_layer(item, archive, canvas)
    else:
        image = Image.new("RGBA", working_size(canvas.size, canvas.scale))
        # The file lists the topmost first; painting begins with the lowest.
        for child in reversed([e for e in item if e.tag in ("layer", "stack")]):
            drawn = _render(child, archive, canvas)
            if drawn is not None:
                image.alpha_composite(drawn)
    try:
        opacity = min(1.0, max(0.0, float(item.get("opacity", "1"))))
    except ValueError:
        opacity = 1.0
    if opacity < 1:
        image.putalpha(image.getchannel("A").point(lambda value: round(value * opacity)))
    return image


def _read_layer(item: ElementTree.Element, archive: zipfile.ZipFile, canvas: _Canvas) -> Image.Image:
    """The layer where it lies on the canvas, at working size: each pixel one of its own, clear where it has none."""
    budget, size = canvas.budget, canvas.size
    left, top = _number(item, "x", budget.path), _number(item, "y", budget.path)
    with archive.open(archive.getinfo(item.get("src", ""))) as member, decoding(budget.path, budget.max_megapixels):
        image: Image.Image = Image.open(member, formats=("PNG",))
        # By the head, before a pixel is decoded: a small file may claim a huge layer.
        budget.spend(image.size)
        image = image.convert("RGBA")
    target = working_size(size, canvas.scale)
    across, down = size[0] / target[0], size[1] / target[1]
    place = (across, 0, -left, 0, down, -top)
    return image.transform(target, Image.Transform.AFFINE, place, Image.Resampling.NEAREST)


def _combine(drawn: list[_Layer], path: Path, canvas: _Canvas) -> Loaded:
    """Part layers become masks; paper is left out; an ink layer is kept apart from the colours under it."""
    notes = [f"layer blending '{b}' was read as plain covering" for b in sorted(canvas.blends)]
    paper = [x for x in drawn if x.name.casefold() in PAPER_NAMES]
    ink = [x for x in drawn if x.name.casefold() in INK_NAMES]
    parts = [x for x in drawn if x not in paper and x not in ink]
    if len(parts) > 1 and _is_blank(parts[-1].image):
        notes.append(f"the lowest layer '{parts[-1].name}' is one colour all over: taken as paper")
        parts = parts[:-1]
    if not parts:
        raise InputError(
            "every layer is named as paper or lines", where=str(path), cure="name the coloured layers after the parts"
        )
    colours = _over_each_other(parts)
    masks, taken = [], np.zeros(colours.size[::-1], bool)
    # Topmost first, so each pixel is the part's that is seen there.
    for layer in parts:
        mask = (np.asarray(layer.image.getchannel("A")) >= 128) & ~taken
        taken |= mask
        masks.append((layer.name, mask))
    ink_mask, ink_rgb = _inked(colours, ink) if ink else (None, None)
    if np.asarray(colours.getchannel("A")).max() < 128:
        raise InputError("every layer is transparent", where=str(path), cure="draw on the coloured layers")
    return Loaded(
        printable(path.name),
        canvas.size,
        canvas.scale,
        colours,
        layers=tuple(masks),
        ink=ink_mask,
        ink_rgb=ink_rgb,
        notes=tuple(notes),
    )


def _over_each_other(layers: list[_Layer]) -> Image.Image:
    """One picture of layers, topmost first."""
    canvas = Image.new("RGBA", layers[0].image.size)
    for layer in reversed(layers):
        canvas.alpha_composite(layer.image)
    return canvas


def _inked(colours: Image.Image, ink: list[_Layer]) -> tuple[np.ndarray, tuple[int, int, int] | None]:
    """((h, w) bool, where the layers of ink have lines; their colour). The colours are opaque there. In place."""
    lines = _over_each_other(ink)
    mask: np.ndarray = np.asarray(lines.getchannel("A")) >= 128
    rgb = None
    if mask.any():
        r, g, b = (round(float(v)) for v in np.median(np.asarray(lines)[mask][:, :3], axis=0))
        rgb = (r, g, b)
    alpha = np.asarray(colours.getchannel("A")).copy()
    # Ink lies over nothing here and there: the figure is there all the same.
    alpha[mask] = 255
    colours.putalpha(Image.fromarray(alpha))
    return mask, rgb


def _is_blank(image: Image.Image) -> bool:
    """True when the layer covers the whole picture in one colour."""
    pixels = np.asarray(image)
    return bool((pixels == pixels[0, 0]).all() and pixels[0, 0, 3] == 255)

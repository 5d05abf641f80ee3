"""A reading kept as bytes: the same pictures and settings are not read twice, and the next reading finds its areas.

One NPZ file of plain arrays (no pickles); the dataclasses are JSON in it. Whatever is wrong with it, it counts as none.
"""

import dataclasses
import hashlib
import io
import json
import types
from collections.abc import Iterable
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

import numpy as np

from finishplan.drawing.model import Drawing
from finishplan.drawing.registration import SmallMap

NAME = ".finishplan-reading.npz"
"""Hidden, beside the job file; harmless to delete."""
LARGEST = 200_000_000
"""Bytes of such a file."""
ARRAYS = ("labels", "ink_mask")


@dataclass(frozen=True, eq=False)
class Kept:
    """A reading before any correction, the key it was read by, and the map of its areas by the job's numbers. picture:
    digest of the drawing's file."""

    key: str
    picture: str
    drawing: Drawing
    small: SmallMap


def digest(picture: Path) -> str:
    """SHA-256 of a file. Raises OSError."""
    return hashlib.sha256(picture.read_bytes()).hexdigest()


def reading_key(pictures: Iterable[Path], settings: object) -> str:
    """What a reading hangs on: the pictures' bytes, the settings, and how this program reads."""
    found = hashlib.sha256(repr(settings).encode())
    for picture in pictures:
        found.update(digest(picture).encode())
    for module in sorted(files("finishplan.drawing").iterdir(), key=lambda file: file.name):
        if module.name.endswith(".py"):
            found.update(module.read_bytes())
    return found.hexdigest()


def kept_bytes(kept: Kept) -> bytes:
    """As a file."""
    drawing, small = kept.drawing, kept.small
    told = {f.name: getattr(drawing, f.name) for f in dataclasses.fields(Drawing) if f.name not in ARRAYS}
    said = {"key": kept.key, "picture": kept.picture, "drawing": _plain(told), "box": small.box, "size": small.size}
    text = np.frombuffer(json.dumps(said).encode(), np.uint8)
    labels = drawing.labels.astype(np.min_scalar_type(int(drawing.labels.max())))
    out = io.BytesIO()
    np.savez_compressed(
        out, said=text, labels=labels, ink=np.packbits(drawing.ink_mask, axis=1), small=small.labels, allow_pickle=False
    )
    return out.getvalue()


def load_kept(path: Path) -> Kept | None:
    """What is kept there, None where nothing is, or nothing that can be used."""
    try:
        if path.stat().st_size > LARGEST:
            return None
        with np.load(path, allow_pickle=False) as data:
            said = json.loads(bytes(data["said"]))
            labels = np.ascontiguousarray(data["labels"], np.int32)
            ink = np.unpackbits(data["ink"], axis=1, count=labels.shape[1]).astype(bool)
            small = SmallMap(np.asarray(data["small"], np.uint16), tuple(said["box"]), tuple(said["size"]))
        fields = {
            name: _made(hint, said["drawing"][name])
            for name, hint in get_type_hints(Drawing).items()
            if name not in ARRAYS
        }
        if ink.shape != labels.shape or labels.ndim != 2 or small.labels.ndim != 2:
            return None
        return Kept(str(said["key"]), str(said["picture"]), Drawing(labels=labels, ink_mask=ink, **fields), small)
    except Exception:  # a damaged file makes NumPy, zipfile and json raise nearly anything
        return None


def _plain(value: Any) -> Any:
    if dataclasses.is_dataclass(value):
        return {f.name: _plain(getattr(value, f.name)) for f in dataclasses.fields(value)}
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    return [_plain(item) for item in value] if isinstance(value, tuple | list) else value


def _made(hint: Any, value: Any) -> Any:
    """The value that `_plain` made plain, of the type that the hint names."""
    of, inside = get_origin(hint), get_args(hint)
    if of in (Union, types.UnionType):
        return None if value is None else _made(next(t for t in inside if t is not type(None)), value)
    if of is tuple:
        kinds = [inside[0]] * len(value) if inside[1:] == (...,) else inside
        return tuple(_made(kind, item) for kind, item in zip(kinds, value, strict=True))
    if of is Literal or hint is Any:
        return value
    if dataclasses.is_dataclass(hint) and isinstance(hint, type):
        hints = get_type_hints(hint)
        return hint(**{name: _made(hints[name], item) for name, item in value.items()})
    if not isinstance(value, hint):
        raise TypeError(f"{value!r} is no {hint}")
    return value

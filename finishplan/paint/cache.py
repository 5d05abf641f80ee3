"""Searched boxes kept on disk, so that the same box is not computed twice.

A file is named by the digest of all that its figures depend on, written whole under another name first, and
checked on reading: the seal that only this module sets, the CRC of the zip that .npz is, and the shapes. Whatever is
wrong with it, or with the folder, the figures are computed instead. Not detected: a file made on purpose to deceive,
its seal computed as here. No pickle is read or written.
"""

import os
import zipfile
import zlib
from collections.abc import Callable
from contextlib import suppress
from hashlib import blake2b
from pathlib import Path
from typing import IO

import numpy as np

from finishplan.basics.files import drop, new_beside
from finishplan.paint.nearest import STEPS_PER_UNIT, ColourIndex, build_index
from finishplan.paint.recipes import Group, lab_blocks
from finishplan.paint.settings import MixSettings
from finishplan.paint.shelf import Shelf

# Raised whenever the bytes of a file come to mean something else: the old ones are then not found.
_FORMAT = 2
_FEWEST_ROWS = 50_000
"""Fewer recipes are computed as quickly as read."""
_LARGEST_BYTES = 200_000_000
_FOLDER_BYTES = 600_000_000
_FIELDS = {"steps": ("i2", 2), "row": ("u4", 1), "start": ("i8", 1), "low": ("i2", 2), "high": ("i2", 2)}


def default_folder() -> Path:
    """The user's cache folder of this program."""
    from platformdirs import user_cache_path

    return user_cache_path("finishplan") / "boxes"


def stored_index(shelf: Shelf, groups: tuple[Group, ...], settings: MixSettings) -> ColourIndex:
    """The colours of these recipes, from disk if they are there and whole, else computed and, if asked, kept."""
    count = sum(len(g) for g in groups)
    if not _is_for_disk(groups, settings):
        return _computed(shelf, groups)
    path = _folder(settings) / _name(shelf, groups)
    index = _read(path, count)
    if index is None:
        index = _computed(shelf, groups)
        if _can_be_kept(index):
            _keep(path, lambda out: _pack(out, path.name, index))
    return index


def is_missing(shelf: Shelf, groups: tuple[Group, ...], settings: MixSettings) -> bool:
    """Whether these recipes are to be kept and are not there yet; False where that cannot be seen."""
    with suppress(OSError):
        return _is_for_disk(groups, settings) and not (_folder(settings) / _name(shelf, groups)).is_file()
    return False


def _is_for_disk(groups: tuple[Group, ...], settings: MixSettings) -> bool:
    return settings.cache and sum(len(g) for g in groups) >= _FEWEST_ROWS


def _folder(settings: MixSettings) -> Path:
    return settings.cache_folder or default_folder()


def _computed(shelf: Shelf, groups: tuple[Group, ...]) -> ColourIndex:
    blocks = lab_blocks(shelf.K, shelf.S, groups, shelf.k1, shelf.k2)
    return build_index(blocks, sum(len(g) for g in groups))


def _name(shelf: Shelf, groups: tuple[Group, ...]) -> str:
    digest = blake2b(f"{_FORMAT} {STEPS_PER_UNIT} {shelf.k1!r} {shelf.k2!r}".encode(), digest_size=16)
    # All that the figures hang on: two boxes under one name would be worse than no cache.
    for array in (shelf.K, shelf.S, *(a for g in groups for a in (g.combos, g.parts))):
        digest.update(f"{array.shape} {array.dtype.str}".encode())
        digest.update(np.ascontiguousarray(array).tobytes())
    return f"{digest.hexdigest()}.npz"


def _read(path: Path, count: int) -> ColourIndex | None:
    try:
        with np.load(path, allow_pickle=False) as stored:
            # The seal first: nothing of a foreign file is unpacked.
            if stored.zip.comment != _seal(path.name, stored.zip):
                return None
            arrays = {name: stored[name] for name in _FIELDS}
    except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile, zlib.error, NotImplementedError, TypeError):
        return None  # TypeError: a single array (.npy) of another program under that name
    for name, (kind, dimensions) in _FIELDS.items():
        if arrays[name].dtype != np.dtype(kind) or arrays[name].ndim != dimensions:
            return None
    cells = len(arrays["low"])
    whole = (
        arrays["steps"].shape == (count, 3)
        and arrays["row"].shape == (count,)
        and arrays["start"].shape == (cells + 1,)
        and arrays["low"].shape == arrays["high"].shape == (cells, 3)
        and int(arrays["row"].max()) < count
    )
    return ColourIndex(**arrays) if whole else None


def _can_be_kept(index: ColourIndex) -> bool:
    return index.steps.nbytes + index.row.nbytes <= _LARGEST_BYTES


def _pack(out: IO[bytes], name: str, index: ColourIndex) -> None:
    """Write the file of that name to `out`, which can be read and sought too."""
    np.savez(out, **{field: getattr(index, field) for field in _FIELDS})
    with zipfile.ZipFile(out, "a") as stored:
        stored.comment = _seal(name, stored)


def _keep(path: Path, write: Callable[[IO[bytes]], object]) -> None:
    """Write the file; a folder that is full or cannot be written is no error, the figures are there."""
    temporary = None
    with suppress(OSError):
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            handle, temporary = new_beside(path)
            with os.fdopen(handle, "w+b") as out:
                write(out)
            Path(temporary).replace(path)
            _prune(path.parent)
        finally:
            if temporary is not None:
                drop(temporary)


def _seal(name: str, stored: zipfile.ZipFile) -> bytes:
    """Of the file's name and of each field's CRC, which the zip holds and checks on reading."""
    said = f"{name} {sorted((i.filename, i.file_size, i.CRC) for i in stored.infolist())}"
    return blake2b(said.encode(), digest_size=16).hexdigest().encode()


def _prune(folder: Path) -> None:
    """Drop the oldest files until the folder holds no more than it may."""
    # Newest first, so that the box of today is never the one dropped.
    files = sorted(((p.stat().st_mtime, p.stat().st_size, p) for p in folder.glob("*.npz")), reverse=True)
    total = 0
    for _, size, path in files:
        total += size
        if total > _FOLDER_BYTES:
            path.unlink(missing_ok=True)

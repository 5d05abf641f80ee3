"""Writing files whole or not at all, and keeping paths named in a file inside that file's folder."""

import os
import tempfile
from pathlib import Path

from finishplan.errors import InputError


def write_whole(path: Path, data: bytes | str) -> None:
    """Write `data` to a temporary name beside `path`, then put it in place in one step.

    A symbolic link at `path` is followed, so that the link stays and its target changes.
    Raises InputError when the folder cannot be written or is full.
    """
    path = Path(os.path.realpath(path))
    raw = data.encode() if isinstance(data, str) else data
    temporary = None
    try:
        handle, temporary = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
        with os.fdopen(handle, "wb") as out:
            out.write(raw)
        mask = os.umask(0)
        os.umask(mask)
        Path(temporary).chmod(0o666 & ~mask)
        Path(temporary).replace(path)
        temporary = None
    except OSError as error:
        raise InputError(
            f"cannot write: {error.strerror or error}",
            where=str(path),
            cure="choose a folder that can be written with --out",
        ) from error
    finally:
        if temporary is not None:
            Path(temporary).unlink(missing_ok=True)


def inside(folder: Path, name: str, *, where: str) -> Path:
    """The path `name`, read in a file of `folder`, provided it stays in that folder once links are followed."""
    path = (folder / name).resolve()
    if not path.is_relative_to(folder.resolve()):
        raise InputError(
            f"'{name}' leads out of the folder {folder}", where=where, cure="copy the file beside this one"
        )
    return path

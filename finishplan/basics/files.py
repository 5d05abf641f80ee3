"""Writing files whole or not at all, and keeping paths named in a file inside that file's folder."""

import os
from collections.abc import Mapping
from pathlib import Path

from finishplan.basics import signals
from finishplan.basics.errors import InputError

_ELSEWHERE = "a command with --out can write elsewhere"
# Made anew or not at all, never through a link that lies there; binary, lest line ends change on Windows.
_NEW = os.O_RDWR | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0) | getattr(os, "O_NOFOLLOW", 0)


def write_whole(path: Path, data: bytes | str) -> None:
    """Write `data` to a temporary name beside `path`, then put it in place in one step.

    A symbolic link at `path` is followed, so that the link stays and its target changes.
    Raises InputError when the folder cannot be written or is full, or `path` is a folder.
    """
    write_together({path: data})


def write_together(files: Mapping[Path, bytes | str]) -> None:
    """Write all these files under temporary names, then put them in place one right after the other, in this order.

    So a disk that is full, or a name that is taken by a folder, leaves the old files as they were. Raises InputError.
    """
    # A rename in the place of a link would leave a file where the link was, and its target as it was.
    places = {Path(os.path.realpath(p)): d.encode() if isinstance(d, str) else d for p, d in files.items()}
    for path in places:
        if path.exists() and not path.is_file():
            what = "a folder" if path.is_dir() else "a pipe or a device"
            cure = f"move it away; {_ELSEWHERE}"
            raise InputError(f"{what} stands where this file is to be", where=str(path), cure=cure)
    made: dict[str, Path] = {}
    try:
        for path, raw in places.items():
            handle, new = new_beside(path)
            made[new] = path
            with os.fdopen(handle, "wb") as out:
                out.write(raw)
        # Stopped half way, some of the files would be of this run and some of the last.
        with signals.held():
            for new, path in made.items():
                Path(new).replace(path)
    except OSError as error:
        cure = f"check the permissions there and the space left; {_ELSEWHERE}"
        raise InputError(f"cannot write: {error.strerror or error}", where=str(path), cure=cure) from error
    finally:
        for new in made:
            drop(new)


def new_beside(path: Path) -> tuple[int, str]:
    """A new empty file in the folder of `path`: its handle and its path, to be given to `drop`. Raises OSError."""
    new = str(path.parent / f".{os.urandom(8).hex()}.part")
    # Before it is there: a signal in between would leave it lying.
    signals.temporary.add(new)
    try:
        # The umask decides who may read it, as of any file; what tempfile makes only its owner can read.
        return os.open(new, _NEW, 0o666), new
    except OSError:
        signals.temporary.discard(new)
        raise


def drop(new: str) -> None:
    """Remove what `new_beside` made, where it is not in its place by now."""
    Path(new).unlink(missing_ok=True)
    signals.temporary.discard(new)


def is_file(path: Path) -> bool:
    """Whether a file stands there; False too where its folder may not be entered, which is told of the file that is
    really asked for."""
    try:
        return path.is_file()
    except OSError:
        return False


def inside(folder: Path, name: str, *, where: str) -> Path:
    """The path `name`, read in a file of `folder`, provided it stays in that folder once links are followed.

    Raises InputError when it leads out.
    """
    # The name is UTF-8, as its file is, whatever the system takes names to be.
    path = (folder / os.fsdecode(name.encode("utf-8"))).resolve()
    if not path.is_relative_to(folder.resolve()):
        raise InputError(
            f"'{name}' leads out of the folder {folder}", where=where, cure="copy the file beside this one"
        )
    return path


def printable(name: str) -> str:
    """The name of a file as text that can be shown and written: what is not UTF-8 or not printable becomes '?'.

    At most 120 letters, as a figure's name. A name of the system may hold any bytes; Python keeps those that are no
    text as lone surrogates (PEP 383).
    """
    text = os.fsencode(name).decode("utf-8", "replace").replace("\ufffd", "?")
    return "".join(c if c.isprintable() else "?" for c in text[:120])

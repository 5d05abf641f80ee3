"""Reading the small text files a maker writes (job, box, table): UTF-8, plain files, nothing that takes for ever."""

import re
import stat
import tomllib
from functools import lru_cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from finishplan.basics.errors import InputError

_PICTURES = (b"\x89PNG", b"\xff\xd8\xff", b"GIF8", b"RIFF", b"II*\0", b"MM\0*")
"""How picture files begin: PNG, JPEG, GIF, WebP, TIFF."""
_OTHER_TEXT = {b"\xff\xfe": "UTF-16", b"\xfe\xff": "UTF-16"}
"""Byte order marks (Unicode 15, 23.8)."""
_MOST_PARTS = 16
# Possessive throughout (++, *+): nothing is tried twice, so the time grows only as the text does.
_PART = r"""(?:[\w-]++|"(?:[^"\\\n]|\\.)*+"|'[^'\n]*+')"""
_LONG_KEY = rf"""(?P<key>(?<![\w"'-])(?:{_PART}[ \t]*+\.[ \t]*+){{{_MOST_PARTS}}})"""
"""A name of more parts than a file of ours can have: the parser takes the square of their number."""
_OTHER = (
    r"#[^\n]*+",
    r""""{3}(?:[^"\\]|\\(?s:.)|"(?!""))*+(?:"{3,5})?""",
    r"""'{3}(?:[^']|'(?!''))*+(?:'{3,5})?""",
    r'"(?:[^"\\\n]|\\.)*+"?',
    r"'[^'\n]*+'?",
)
"""A comment and the strings of TOML 1.0, to the end where they have none: what looks like a name in them is none."""
_NAMES = re.compile("|".join((_LONG_KEY, *_OTHER)))
_LONG_NUMBER = re.compile(r"[0-9_]{4000,}")
_LARGEST = 2**63
"""Whole numbers of TOML 1.0 are of 64 bits."""


def check_file(path: Path) -> None:
    """Raises InputError where `path` is a pipe, a socket or a device: reading it could wait or go on for ever."""
    try:
        # Asked of the name: opening a pipe already waits.
        mode = path.stat().st_mode
    except (OSError, ValueError):  # told by whoever opens it
        return
    if not (stat.S_ISREG(mode) or stat.S_ISDIR(mode)):
        cure = "save it as a file and give that"
        raise InputError("is a pipe or a device, not a file", where=str(path), cure=cure)


def text_of(path: Path, most_bytes: int, kind: str) -> str:
    """The text of a small UTF-8 file, with or without a byte order mark.

    kind: what it should be, for messages. Raises InputError when it cannot be read, is too long or is no such text.
    """
    where = str(path)
    check_file(path)
    try:
        # Before it is read: it may be larger than the memory.
        if path.stat().st_size > most_bytes:
            raise InputError("the file is too long", where=where, cure=f"give {kind}")
        data = path.read_bytes()
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise InputError(f"cannot be read: {reason}", where=where, cure="check the path and its permissions") from error
    # The likeliest slip: the drawing given where its job or the box belongs.
    if data.startswith(_PICTURES):
        raise InputError("is a picture", where=where, cure=f"give {kind}")
    if data[:2] in _OTHER_TEXT:
        raise InputError(f"is {_OTHER_TEXT[data[:2]]} text", where=where, cure="save it as UTF-8")
    try:
        # Editors on Windows put a byte order mark first.
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError("is not UTF-8 text", where=where, cure="save it as UTF-8") from error


# An edit asks for one text several times, and for its successor: reading it is most of the work.
@lru_cache(maxsize=4)
def loaded(text: str) -> dict[str, Any]:
    """The tables of a TOML text, to be read, never changed: the last few are kept. Raises as tomllib."""
    return tomllib.loads(text)


def toml_of(text: str, where: str) -> dict[str, Any]:
    """The tables of a TOML text. Raises InputError with the parser's own line and column."""
    # Looked for before parsing: it is the parser that such a name holds up.
    if found := next((m for m in _NAMES.finditer(text) if m["key"]), None):
        line = text.count("\n", 0, found.start()) + 1
        raise InputError(f"line {line}: a name of too many parts", where=where, cure="write it as [section] and key")
    try:
        data = loaded(text)
    # A kind of ValueError, so it stands before that.
    except tomllib.TOMLDecodeError as error:
        what, cure = _plainly(str(error))
        raise InputError(f"is not valid TOML: {what}", where=where, cure=cure) from error
    except RecursionError as error:
        raise InputError("is nested too deeply", where=where, cure="write plain tables") from error
    except ValueError as error:  # more digits than Python reads
        long = _LONG_NUMBER.search(text)
        line = text.count("\n", 0, long.start()) + 1 if long else 1
        raise InputError(f"line {line}: a number of too many digits", where=where, cure="mend that line") from error
    _check_whole_numbers(data, where)
    return data


_SAID = (
    (r"Cannot declare \('(.*?)',?\) twice", r"[\1] stands twice", "keep only one of them"),
    ("Cannot overwrite a value", "a key stands twice", "keep only one of them"),
    (r"Illegal character '\\n'", "a text without its closing quote", "mend that line"),
    (
        "Invalid value",
        "a value that cannot be read",
        'write text in plain quotes, "...", and true or false in small letters',
    ),
    ("Expected newline .* statement", "more than one value stands there", "write a number without unit, as 18.5"),
)
"""What Python's parser of TOML says, and what a maker understands: the words and the cure."""


def _plainly(message: str) -> tuple[str, str]:
    for pattern, words, cure in _SAID:
        if re.match(pattern, message):
            return re.sub(pattern, words, message).replace("', '", "."), cure
    # Another Python may word it otherwise: then its own words stand.
    return message, "mend that line"


def _check_whole_numbers(value: Any, where: str) -> None:
    # tomllib takes any number of digits, and a float of it would fail far from here.
    if isinstance(value, int) and not -_LARGEST <= value < _LARGEST:
        raise InputError("a number of too many digits", where=where, cure="write a smaller one")
    for key, item in value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ():
        _check_whole_numbers(item, f"{where}: {str(key)[:40]}")


def shipped_toml(name: str) -> dict[str, Any]:
    """A TOML file that the package carries, by its path below finishplan/ ("drying/data/kinds.toml")."""
    return tomllib.loads(files("finishplan").joinpath(*name.split("/")).read_text(encoding="utf-8"))

"""What a maker writes after the equals sign on the command line, as the value of a key."""

import re
import tomllib
from collections.abc import Iterable
from typing import Any

from finishplan.basics.errors import InputError
from finishplan.job.checks import NUMBER
from finishplan.job.keys import Key

LISTS = ("areas", "own", "flags", "before", "glue_faces", "after", "starts", "ratio")
DROPS = ("recipe", "poured", "add")
PLACES = ("at", "points", "cut", "details")
YES_NO = {"yes": True, "no": False, "on": True, "off": False}


def value_of(key: Key, said: str, where: str) -> Any:
    """The checked value of `flags` for 'recess,first', of `recipe` for 'PW6 6, PY43 1', of `points` for
    '0.1,0.2 0.3,0.4' or '[[0.1, 0.2], [0.3, 0.4]]'; as TOML writes it, quotes may be left out. None for nothing: take
    the key out. Raises InputError, where: what the maker wrote before the sign."""
    if not said.strip():
        return None
    errors = []
    for value in _readings(key.name, said.strip()):
        try:
            return key.check(value, where)
        except InputError as error:
            errors.append(error)
    raise errors[-1]


def _readings(key: str, said: str) -> Iterable[Any]:
    """What may be meant, the likeliest last: its error is the one that helps."""
    if key in PLACES:
        yield _places(key, said) or [*_as_toml(said), said][0]
        return
    if key in DROPS:
        # A recipe as the job file has it, else as it is said: 'PW6 6, PY43 1'; paints' names may hold blanks.
        if said.startswith("{"):
            yield from _as_toml(said)
        found = re.findall(r"([^,:=]+?)[\s:=]+(\d+(?:\.\d+)?)\s*(?:,|$)", said)
        yield {paint.strip().strip("\"'"): float(n) if "." in n else int(n) for paint, n in found} or said
        return
    if key in LISTS:
        yield from _as_toml(said)
        yield [int(v) if re.fullmatch(NUMBER, v) else _plain(v) for v in re.split(r"\s*,\s*", said) if v]
        return
    yield said
    # After the text itself: 'off' is a word to some keys, and no to others.
    if said.lower() in YES_NO:
        yield YES_NO[said.lower()]
    yield from _as_toml(said)


def _as_toml(said: str) -> Iterable[Any]:
    try:
        yield tomllib.loads(f"x = {said}")["x"]
    except tomllib.TOMLDecodeError:
        return


def _plain(said: str) -> Any:
    if re.fullmatch(r"-?\d+(\.\d+)?", said):
        return float(said)
    return said.strip().strip("\"'")


def _places(key: str, said: str) -> list[Any]:
    """[[0.1, 0.2], [0.3, 0.4]] for '0.1,0.2 0.3,0.4', one pair for `at`; none where there is anything else in it."""
    numbers = re.split(r"[\s,;]+", said)
    if len(numbers) % 2 or not all(re.fullmatch(r"-?\d*\.?\d+", n) for n in numbers):
        return []
    pairs = [[float(x), float(y)] for x, y in zip(numbers[::2], numbers[1::2], strict=True)]
    return pairs[0] if key == "at" and len(pairs) == 1 else pairs

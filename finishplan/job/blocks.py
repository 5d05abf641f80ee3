"""A block of a job file, a header and its keys, taken out by its lines: the comments behind it are not its own."""

import re
import tomllib
from typing import Any

import tomlkit

from finishplan.basics.text_files import loaded


def without_block(text: str, header: re.Pattern[str], wanted: dict[str, Any]) -> str | None:
    """The text without the block under one of these headers that leaves the wanted data, None where there is none."""
    for found in header.finditer(text):
        start = found.start()
        # The shortest piece that does it: comments behind the last key are the next block's, or the maker's thoughts.
        for end in re.finditer(r"\n|\Z", text[start:]):
            before, after = text[:start], text[start + end.end() :]
            if reads_as(before + after, wanted):
                # No second blank line where there was one on either side.
                return before.rstrip("\n") + "\n" + after if after[:1] in ("", "\n") else before + after
    return None


def without_thing(text: str, section: str, thing: str) -> str | None:
    """The text without [section.thing], None where it is written in another way."""
    data = loaded(text)
    left = {name: table for name, table in data[section].items() if name != thing}
    wanted = {key: value for key, value in data.items() if key != section} | ({section: left} if left else {})
    # TOML lets a name be bare or in either quotes; whichever the maker took is found.
    spelt = "|".join(re.escape(s) for s in {thing, f'"{thing}"', f"'{thing}'", tomlkit.key(thing).as_string()})
    header = re.compile(rf"^[ \t]*\[[ \t]*{section}[ \t]*\.[ \t]*(?:{spelt})[ \t]*\]", re.MULTILINE)
    return without_block(text, header, wanted)


def reads_as(text: str, wanted: dict[str, Any]) -> bool:
    """Whether a text is TOML of this data."""
    try:
        return loaded(text) == wanted
    except tomllib.TOMLDecodeError:
        return False

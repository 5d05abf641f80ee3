"""Values put into a job file's text in place: comments, order and spelling of all else stay."""

from collections.abc import Mapping
from typing import Any

import tomlkit
from tomlkit.container import OutOfOrderTableProxy
from tomlkit.items import InlineTable, Table

from finishplan.basics.text_files import loaded
from finishplan.job.keys import KEYS, Key

Tables = tomlkit.TOMLDocument | Table | InlineTable | OutOfOrderTableProxy
Path = tuple[str, ...]
"""Section, thing if it has a name, key."""


def key_of(path: Path) -> Key | None:
    """The row of the table for a path."""
    # [steps.wash] has keys of its own, [steps] others.
    section = {3: path[0] + (".KEY" if path[0] == "steps" else "")}.get(len(path), path[0])
    if path[:2] == ("paints", "dry"):
        section = "paints.dry"
    return KEYS.get(section, {}).get(path[-1])


def with_values(text: str, values: Mapping[Path, Any], comments: bool = True) -> str:
    """The text with the values at these paths, None taking one out; what is so already is not touched. comments: a new
    line gets the comment of its key."""
    data = loaded(text)
    changed = {path: value for path, value in values.items() if _unlike(data, path, value)}
    if not changed:  # reading a text to be edited takes twenty times as long
        return text
    doc = tomlkit.parse(text)
    for path, value in changed.items():
        if value is None:
            _take(doc, path)
        else:
            doc = _with_home(doc, path[:-1])
            _put(doc, path, value, comments)
    return tomlkit.dumps(doc)


def _get(doc: Tables, path: Path) -> Any:
    found: Any = doc
    for name in path:
        if not isinstance(found, Tables) or name not in found:
            return None
        found = found[name]
    return found


def _unlike(data: dict[str, Any], path: Path, value: Any) -> bool:
    there: Any = data
    for name in path:
        there = there.get(name) if isinstance(there, dict) else None
    if there is None or value is None:
        return there is not value
    # To Python 1 is true, and not to TOML.
    return (type(there) is bool) != (type(value) is bool) or there != listed(value)


def _with_home(doc: tomlkit.TOMLDocument, path: Path) -> tomlkit.TOMLDocument:
    """The document with a table at a path: at its end, an area as its neighbours are, on a line of its own."""
    if _get(doc, path) is not None:
        return doc
    areas = _get(doc, path[:1])
    # One line an area where [areas] is written; where each has its own header, so has the new one.
    if path[0] == "areas" and isinstance(areas, Table) and not areas.is_super_table():
        _append(areas, path[1], tomlkit.inline_table())
        return doc
    # Written as text, it stands at the end, however the sections before it are spelt and ordered.
    header = ".".join(tomlkit.key(name).as_string() for name in path)
    return tomlkit.parse(f"{tomlkit.dumps(doc).rstrip()}\n\n[{header}]\n")


def _put(doc: tomlkit.TOMLDocument, path: Path, value: Any, comments: bool) -> None:
    home, item = _get(doc, path[:-1]), _item(listed(value))
    if isinstance(home, InlineTable):
        spelt = {path[-1]: item.as_string()}
        # The number first, as the program writes it; all else behind what is there.
        _rewrite(doc, path[:-1], spelt | _spelt(home) if path[-1] == "number" else _spelt(home) | spelt)
    elif path[-1] in home:
        home[path[-1]] = item
    else:
        key = key_of(path)
        if comments and key is not None and key.comment:
            item.comment(key.comment)
            item.trivia.comment_ws = "  "
        _append(home, path[-1], item)


def _item(value: Any) -> Any:
    """A value as an item; a table of drops on one line."""
    if not isinstance(value, dict):
        return tomlkit.item(value)
    inner = ", ".join(f"{tomlkit.item(key).as_string()} = {number}" for key, number in value.items())
    return tomlkit.parse(f"x = {{ {inner} }}")["x"]


def _append(home: Any, key: str, item: Any) -> None:
    """Put a key after the last one of its table, before the comments and blank lines that lead to the next."""
    body = home.value.body if isinstance(home, Table) else home.body
    tail = tail_of(body)
    home.append(key, item)
    body.extend(tail)


def tail_of(body: list[Any]) -> list[Any]:
    """The comments and blank lines at the end of a table, taken out of its body."""
    tail: list[Any] = []
    while body and body[-1][0] is None:
        tail.insert(0, body.pop())
    return tail


def _spelt(table: InlineTable) -> dict[str, str]:
    body: Any = table.value  # its .items() would unwrap booleans
    return {key: body.item(key).as_string() for key in body}


def _rewrite(doc: Tables, path: Path, spelt: Mapping[str, str]) -> None:
    """The inline table at a path anew, on its line."""
    inner = ", ".join(f"{tomlkit.key(key).as_string()} = {value}" for key, value in spelt.items())
    item = tomlkit.parse(f"x = {{ {inner} }}")["x"]
    _get(doc, path[:-1])[path[-1]] = item


def _take(doc: Tables, path: Path) -> None:
    home = _get(doc, path[:-1])
    if home is None or path[-1] not in home:
        return
    if isinstance(home, InlineTable):
        _rewrite(doc, path[:-1], {key: value for key, value in _spelt(home).items() if key != path[-1]})
    else:
        del home[path[-1]]


def listed(value: Any) -> Any:
    """A value as TOML has it: lists for tuples, a table for a recipe, whole numbers where they are whole."""
    if isinstance(value, tuple | list) and value and all(isinstance(v, tuple) and _is_drops(v) for v in value):
        return dict(value)
    if isinstance(value, tuple | list):
        return [listed(v) for v in value]
    # 4.0 mm is written 4, as a maker writes it; beyond 2^53 (9e15) not every whole number is a float.
    return int(value) if isinstance(value, float) and value.is_integer() and abs(value) < 1e15 else value


def _is_drops(value: tuple[Any, ...]) -> bool:
    return len(value) == 2 and isinstance(value[0], str) and isinstance(value[1], int | float)

"""Names of areas: the numbers that they stand for, in a job file as it was parsed."""

import re
from collections import Counter
from collections.abc import Iterable, Mapping
from typing import Any

from finishplan.basics.checks import section, whole
from finishplan.basics.errors import InputError, nearest
from finishplan.job.checks import NUMBER
from finishplan.job.keys import NAME, checks_of

_ID = whole(1, 100_000)


class Names:
    """The areas of a job file: their checked tables by number, and the number of every name.

    A header is an area's name, its key `number` says which; or the header is the number, and `name` may name it.
    """

    def __init__(self, tables: Mapping[str, Any], file: str) -> None:
        """tables: header -> table, as parsed. Raises InputError."""
        self.file = file
        self.tables: dict[int, dict[str, Any]] = {}
        self.header: dict[int, str] = {}
        spec = {"number": _ID} | checks_of("areas")
        checked = {key: section(t, spec, f"{file}: areas.{key[:40]}") for key, t in tables.items()}
        told = [self._told(key, table) for key, table in checked.items()]
        # A number is for ever: new ones are above all that the file has, gone areas too.
        free = max((n for n in told if n), default=0)
        for (key, table), number in zip(checked.items(), told, strict=True):
            free += number is None
            self._keep(key, table, number or free)
        named = Counter(table["name"] for table in self.tables.values() if table.get("name"))
        self.twice = {name for name, count in named.items() if count > 1}
        # Of a name that two have, the last number stands here; `of` refuses it before it looks.
        self.number = {table["name"]: n for n, table in self.tables.items() if table.get("name")}

    def _told(self, key: str, table: Mapping[str, Any]) -> int | None:
        """The number that header or table tell. Raises InputError where they tell two, or no place either."""
        said = table.get("number")
        where = f"{self.file}: areas.{key[:40]}"
        if re.fullmatch("[0-9]+", key):
            # 007 beside 7 would be the same area twice.
            if not re.fullmatch(NUMBER, key):
                raise InputError(
                    f"'{key[:40]}' is not an area's number",
                    where=f"{self.file}: areas",
                    cure="write it as on the numbered drawing, 7 for 007",
                )
            if said not in (None, int(key)):
                raise InputError(f"number = {said} and the header differ", where=where, cure="keep only one of them")
            return int(key)
        NAME(key, f"{self.file}: areas")
        # A name with a place is found in the drawing and gets a number; a name alone says nothing.
        if said is None and "at" not in table:
            cure = f"write number = 5 under [areas.{key[:40]}] if it is area 5 of the numbered drawing"
            raise InputError("which area this is, is not told", where=where, cure=cure)
        return said

    def _keep(self, key: str, table: dict[str, Any], number: int) -> None:
        if number in self.tables:
            where = f"{self.file}: areas.{key[:40]}"
            raise InputError(f"area {number} is told twice", where=where, cure=f"keep only it or {self.header[number]}")
        name = table.pop("name", "") or ("" if key.isdigit() else key)
        table.pop("number", None)
        self.tables[number], self.header[number] = table | {"name": name}, key

    def of(self, said: int | str, where: str) -> int:
        """The number of an area told by number or name. Raises InputError for an unknown or ambiguous name."""
        if isinstance(said, int):
            return said
        if said in self.twice:
            numbers = [str(n) for n, table in self.tables.items() if table["name"] == said]
            cure = "write the number: " + " or ".join(numbers)
            raise InputError(f"{len(numbers)} areas are called '{said[:60]}'", where=where, cure=cure)
        if said not in self.number:
            cure = nearest(said, list(self.number)) if self.number else "write its number on the numbered drawing"
            raise InputError(f"no area is called '{said[:60]}'", where=where, cure=cure)
        return self.number[said]

    def all_of(self, said: Iterable[int | str], where: str) -> tuple[int, ...]:
        """As `of`, for several; no area twice."""
        numbers = tuple(self.of(one, f"{where}[{i}]") for i, one in enumerate(said, 1))
        if len(set(numbers)) < len(numbers):
            raise InputError("names an area twice, by name and by number", where=where, cure="name each once")
        return numbers

    def edge(self, key: str) -> tuple[int, int]:
        """The two areas of an edge's header, '3-5' or 'hood - face', ascending. Raises InputError."""
        where = f"{self.file}: edges"
        cure = 'write [edges."3-5"] for areas 3 and 5'
        # Names may have dashes of their own: every dash is tried, until both halves are known.
        halves = [(key[: m.start()].strip(), key[m.end() :].strip()) for m in re.finditer("-", key)]
        known = [pair for pair in halves if all(self._is_known(half) for half in pair)]
        if not known:
            raise InputError(f"'{key[:40]}' is not an edge", where=where, cure=cure)
        a, b = sorted(int(half) if re.fullmatch(NUMBER, half) else self.of(half, where) for half in known[0])
        if a == b:
            raise InputError(f"'{key[:40]}' is not an edge", where=where, cure=cure)
        return a, b

    def _is_known(self, half: str) -> bool:
        return bool(re.fullmatch(NUMBER, half)) or half in self.number

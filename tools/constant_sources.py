"""Bring tests/reference/constant-sources.toml up to date: `python tools/constant_sources.py`.

Rows of constants that are gone go; one that moved to another module keeps its words; a new constant that does not say
its source itself gets an empty row, which fails tests/test_sources.py until somebody writes where it comes from.
"""

import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT / "tests"))
from test_sources import REGISTER, SOURCE, constants  # noqa: E402

HEAD = (
    "# Where constants come from that do not say it themselves, by module; tools/constant_sources.py keeps the rows.\n"
)


def main() -> None:
    there = {(module, name) for module, name, _ in constants()}
    moved = {name: text for m, rows in REGISTER.items() for name, text in rows.items() if (m, name) not in there}
    rows: dict[str, dict[str, str]] = {}
    for module, name, text in constants():
        if not SOURCE.search(text):
            rows.setdefault(module, {})[name] = REGISTER.get(module, {}).get(name) or moved.get(name, "")
    parts = [
        f'\n["{module}"]\n' + "".join(f'{n} = "{s}"\n' for n, s in names.items()) for module, names in rows.items()
    ]
    (ROOT / "tests" / "reference" / "constant-sources.toml").write_text(HEAD + "".join(parts), encoding="utf-8")
    for module, names in rows.items():
        for name in (n for n, s in names.items() if not s):
            print(f"{module}.{name}: write its source")


if __name__ == "__main__":
    main()

"""Does a test notice when a number is wrong? `PYTHONPATH=. python tests/benchmarks/mutants.py [MODULE ...]`.

Each number of a constant (`paint.trust`, or a room, `paint`; all without a name), of a default of a settings class and
of a data file is halved, one at a time, and tests that run what reads it are run until one fails. Every mutant is a
forked process that reads the package with one literal changed; the libraries are loaded once, before. The cheapest
tests come first, those of the room before those of others, to a limit of processor seconds (`--limit`).

Counted are the numbers a plan rests on: of the models, the rules and thresholds that decide a figure of a plan, and the
data files. Listed apart and not counted: what only shows a finished plan or reads text (rooms `basics`, `cli`, `page`,
`sheets`), and numbers whose source says 'our layout', 'our limit' (the size of an input, a format) or 'our limit on the
search' (how long is searched: the answer is the same, or says that it may not be the best), and defaults that say only
'none': the -1 of an index, the shape of an empty array. A class says of a default what it is in the string below it.

What was found is kept (`--keep FOLDER`): a second run repeats only what survived and files that have changed. `--table`
writes the results; `--list` only lists; `--all` runs the uncounted too.
"""

import argparse
import hashlib
import json
import random
import sys
import tempfile
from collections import Counter
from collections.abc import Iterable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
from mutant_child import change, forked, load_libraries, run_tests
from mutant_numbers import ROOT, Mutant, every
from mutant_reach import Ran, in_order

ROOMS = (
    *("colour", "drying", "amounts", "bench", "order", "run", "scheme", "job"),
    *("paint", "plan", "drawing", "photo", "sheets"),
)
LEFT = ("test_cache.py",)
"""Rooms whose tests are run, and files that are not: like those of the page and the commands they start processes,
which would not see the change."""
FIRST, FILE_S = 4, 40.0
"""So many likely tests are asked before the others are read; of a file, what runs within seconds (our choice)."""


class Found:
    """What is known, in a folder: which tests reach what, and which test noticed which number."""

    def __init__(self, folder: Path, left: Iterable[str] = LEFT) -> None:
        self.left = left
        folder.mkdir(parents=True, exist_ok=True)
        self.reach_file, self.noticed_file = folder / "reach.json", folder / "noticed.json"
        self.reach: dict[str, dict] = read(self.reach_file)
        self.noticed: dict[str, dict] = read(self.noticed_file)

    def survey(self, rooms: list[str]) -> dict[str, Ran]:
        """Every test of the rooms as it runs without a change, anew where its file has changed."""
        files = [
            p for room in rooms for p in sorted((ROOT / "tests" / room).glob("test_*.py")) if p.name not in self.left
        ]
        for path in files:
            name = str(path.relative_to(ROOT))
            if self.reach.get(name, {}).get("text") == digest(path):
                continue
            rows, seconds = forked(lambda name=name: survey_of(name), FILE_S)
            rows = rows if isinstance(rows, dict) else {}
            print(f"  {name}: {len(rows)} tests, {seconds:.0f} s", file=sys.stderr, flush=True)
            self.reach[name] = {"text": digest(path), "tests": rows}
            self.reach_file.write_text(json.dumps(self.reach))
        return {
            test: Ran(row[0], {tuple(f) for f in row[1]})
            for path in files
            for test, row in self.reach[str(path.relative_to(ROOT))]["tests"].items()
        }

    def killers(self, mutant: Mutant) -> list[str]:
        """Tests that have noticed numbers of the module; that of this number itself counts many times."""
        own = self.noticed.get(mutant.key, {}).get("test", "")
        others = [row["test"] for key, row in self.noticed.items() if key.split(" ")[0] == mutant.module]
        return others + [own] * 6

    def settled(self, mutant: Mutant) -> bool:
        row = self.noticed.get(mutant.key, {})
        return bool(row.get("test")) and row["text"] == digest(mutant.path)

    def keep(self, mutant: Mutant, test: str, seconds: float) -> None:
        self.noticed[mutant.key] = {"text": digest(mutant.path), "test": test, "seconds": round(seconds, 1)}
        self.noticed_file.write_text(json.dumps(self.noticed, indent=0))


def read(path: Path) -> dict:
    return json.loads(path.read_text()) if path.exists() else {}


def digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()[:16]


def survey_of(name: str) -> dict[str, tuple[float, list]]:
    """Of each test of a file that passes: its seconds and the functions gone through, the file's preparing included."""
    watch = run_tests([name], follow=True)
    shared = watch.set_up.get(name, set())
    return {test: (ran.seconds, sorted(ran.functions | shared)) for test, ran in watch.ran.items()}


def noticed_by(mutant: Mutant, tests: list[str], ran: dict[str, Ran]) -> str:
    """The test that fails with the number halved, '' where none does."""
    change(mutant)
    first = [t for t in tests[:FIRST] if t.split("::")[0] == tests[0].split("::")[0]] if tests else []
    for batch in (first, [t for t in tests if t not in first]):
        failed = run_tests(batch).failed if batch else ""
        if failed:
            return failed
    return ""


def table(wanted: list[Mutant], found: Found) -> str:
    """By rooms: numbers that a plan rests on, how many were tried, how many noticed; then those that were not."""
    rows, left = ["| room | numbers | tried | noticed | share |", "| --- | --- | --- | --- | --- |"], []
    rooms = dict.fromkeys(m.module.split(".")[0] for m in wanted if m.kind == "plan")
    for room in (*rooms, ""):
        numbers = [m for m in wanted if m.kind == "plan" and (not room or m.module.split(".")[0] == room)]
        tried = [m for m in numbers if m.key in found.noticed]
        dead = [m for m in tried if found.noticed[m.key]["test"]]
        left += [f"- {m.key} ({m.text})" for m in tried if m not in dead and room]
        share = f"{100 * len(dead) / max(1, len(tried)):.0f} %"
        rows.append(f"| {room or 'all'} | {len(numbers)} | {len(tried)} | {len(dead)} | {share} |")
    return "\n".join([*rows, "", "Not noticed:", "", *left])


def main() -> None:
    said = arguments()
    wanted = [m for m in every() if not said.modules or any(f"{m.module}.".startswith(f"{w}.") for w in said.modules)]
    if said.list:
        for mutant in wanted:
            print(f"{mutant.kind:<7} {mutant.key} {mutant.text}")
        print(Counter(m.kind for m in wanted))
        return
    found = Found(Path(said.keep), (*LEFT, *said.without))
    if said.table:
        print(table(wanted, found))
        return
    todo = [m for m in wanted if (said.all or m.kind == "plan") and not found.settled(m)]
    if said.sample:
        todo = random.Random(1).sample(todo, min(said.sample, len(todo)))
    load_libraries()
    as_listed = {m.path: digest(m.path) for m in todo}
    ran = found.survey(said.rooms)
    for mutant in sorted(todo, key=lambda m: bool(found.noticed.get(m.key))):
        if digest(mutant.path) != as_listed[mutant.path]:
            sys.exit(f"{mutant.path} has changed since its numbers were listed: begin anew")
        tests = in_order(mutant, ran, found.killers(mutant), said.limit)
        limit = 3 * sum(ran[t].seconds for t in tests) + 20
        test, seconds = forked(lambda m=mutant, t=tests: noticed_by(m, t, ran), limit)
        found.keep(mutant, str(test), seconds)
        print(f"{mutant.key} {mutant.text}: {test or '** no **'} ({seconds:.1f} s of {len(tests)})", flush=True)
    counted = [m for m in wanted if m.kind == "plan" and m.key in found.noticed]
    dead = sum(bool(found.noticed[m.key]["test"]) for m in counted)
    print(f"{dead} of {len(counted)} noticed, {100 * dead / max(1, len(counted)):.1f} %")


def arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser()
    parser.add_argument("modules", nargs="*")
    parser.add_argument("--rooms", nargs="*", default=ROOMS, help="rooms of tests/ to run")
    parser.add_argument("--keep", default=str(Path(tempfile.gettempdir()) / "finishplan-mutants"))
    parser.add_argument("--limit", type=float, default=15.0, help="processor seconds of tests for one number")
    parser.add_argument("--without", nargs="*", default=[], help="files of tests that take too long")
    parser.add_argument("--sample", type=int, default=0, help="so many of the numbers, drawn by lot (always the same)")
    parser.add_argument("--list", action="store_true")
    parser.add_argument("--all", action="store_true")
    parser.add_argument("--table", action="store_true", help="what is known so far, as a table")
    return parser.parse_args()


if __name__ == "__main__":
    main()

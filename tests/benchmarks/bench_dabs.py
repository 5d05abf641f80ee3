"""Pots corrected by the command itself, from photographs of a printed page of dabs, twice.

    python tests/benchmarks/bench_dabs.py [--jobs 6] [--first 0] [--cameras FOLDER] [--measured]

Each job has six colours; its pots are poured by a hand a tenth off from tubes unlike the table's, dabbed on the page
with the reference tubes (printed.py), photographed, corrected as advised, dabbed and photographed on a new page, and
corrected again. --measured: the tubes are first learned from a photographed swatch card.
"""

import argparse
import json
import sys
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np
from PIL import Image

sys.path.insert(0, str(Path(__file__).parent))

import bench_card as bc
import printed as pr

WHITE = "titanium-white"
POT = 18
"""Drops of a pot, about."""
Drops = dict[str, float]


def job_of(folder: Path, rng: np.random.Generator) -> Path:
    """A drawing of six random colours on white, and its job file."""
    drawing = np.full((400, 640, 3), 255, np.uint8)
    for k in range(6):
        drawing[20 + 190 * (k // 3) : 190 + 190 * (k // 3), 20 + 200 * (k % 3) : 200 + 200 * (k % 3)] = colour_(rng)
    Image.fromarray(drawing).save(folder / "six.png")
    job = folder / "six.toml"
    job.write_text('version = 2\n[figure]\ndrawing = "six.png"\nheight_mm = 60\n')
    return job


def colour_(rng: np.random.Generator) -> np.ndarray:
    """A colour that paints reach: none too bright and strong at once."""
    return np.rint(rng.uniform(50, 190) + rng.uniform(-55, 55, 3)).astype(np.uint8)


def recipes(job: Path, box: tuple[object, ...]) -> dict[str, Drops]:
    """Mix -> drops of a pot as planned, pre-mixes taken apart."""
    code, _, err = bc.finishplan("plan", job, "--out", job.parent / "plan", "--quiet", *box)
    assert code == 0, err
    found = dict[str, Drops]()
    for mix in json.loads((job.parent / "plan" / "plan.json").read_text())["mixes"]:
        drops = Drops()
        for i in mix["recipe"]:
            pre = i.get("premix")
            neat = pre["parts"] / (pre["parts"] + pre["of"]) if pre else 1.0
            paint = pre["paint"] if pre else i["paint"]
            drops[paint] = drops.get(paint, 0) + i["parts"] * neat
            if pre:
                drops[pre["into"]] = drops.get(pre["into"], 0) + i["parts"] * (1 - neat)
        times = max(1, round(POT / sum(drops.values())))
        found[mix["id"]] = {id: round(times * n, 2) for id, n in drops.items()}
    return found


def poured(drops: Drops, rng: np.random.Generator) -> Drops:
    """What a hand a tenth off really pours."""
    return {id: n * float(np.exp(rng.normal(0, 0.1))) for id, n in drops.items()}


def photo(
    page: tuple[dict[str, Any], Path], pots: dict[str, Drops], taken: pr.Camera, mine: pr.OwnTubes, rng: Any
) -> bytes:
    """The page of dabs, painted and photographed."""
    said, pdf = page
    looks = [
        None
        if f["kind"] == "bar"
        else (mine.mix(pots[f["paint"]]) if f["paint"] in pots else None)
        if f["kind"] == "dab"
        else pr.field_look(f, mine, rng)
        for f in said["fields"]
    ]
    return pr.jpeg(pr.photograph(pr.painted(pdf, said, looks, rng), taken, rng))


def advised(job: Path, mix: str, file: Path, more: list[object]) -> dict[str, Any] | str:
    """What correct says, or its refusal."""
    code, out, err = bc.finishplan("correct", job, mix, file, "--json", *more)
    return err[-140:] if code else json.loads(out)


def added(said: dict[str, Any], rng: np.random.Generator) -> Drops:
    drops = Drops()
    for one in said["add"]:
        neat = one["drops"] * (0.1 if one["let_down"] else 1.0)
        drops[one["paint"]] = drops.get(one["paint"], 0) + neat
        drops[WHITE] = drops.get(WHITE, 0) + one["drops"] - neat
    return poured({id: n for id, n in drops.items() if n}, rng)


def measured_box(given: argparse.Namespace, folder: Path, mine: pr.OwnTubes, rng: Any) -> tuple[object, ...]:
    pages, pdf = bc.card("a4", folder)
    looks = [None if f["kind"] == "bar" else pr.field_look(f, mine, rng) for f in pages[0]["fields"]]
    taken = bc.camera(given.cameras, "D65", "soft S", rng)
    (folder / "card.jpg").write_bytes(pr.jpeg(pr.photograph(pr.painted(pdf, pages[0], looks, rng), taken, rng)))
    code, _, err = bc.finishplan("swatches", "read", folder / "card.jpg", "--out", folder / "own.toml", "--quiet")
    assert code == 0, err
    return "--paints", folder / "own.toml"


def one_job(number: int, given: argparse.Namespace, folder: Path) -> list[tuple[float, ...]]:
    """Its pots: CIEDE2000 of (dab read, before, once, twice)."""
    rng = np.random.default_rng((71, number))
    job, mine = job_of(folder, rng), pr.own_tubes(sorted(p.id for p in bc.BOX.paints), rng)
    box = measured_box(given, folder, mine, rng) if given.measured else ()
    plan = recipes(job, box)
    pages, pdf = bc.card("a4", folder, "--mixes", job, *box)
    pots = {id: poured(drops, rng) for id, drops in plan.items()}
    lamp, renderer = ("D65", "D50", "cloudy + LED")[number % 3], list(bc.RENDERERS)[number % 4]
    off = {id: [] for id in plan}
    aim: dict[str, Any] = {}
    for turn in range(2):
        taken = bc.camera(given.cameras, lamp, renderer, rng)
        (folder / "dabs.jpg").write_bytes(photo((pages[0], pdf), pots, taken, mine, rng))
        for id in plan:
            told = ", ".join(f"{p} {n:g}" for p, n in plan[id].items())
            said = advised(job, id, folder / "dabs.jpg", [*box, *(["--poured", told] if turn == 0 else [])])
            if isinstance(said, str):
                print(f"| job {number}, mix {id} refused: {said}", flush=True)
                off[id].append(float("nan"))
                continue
            look = pr.lab_of(mine.mix(pots[id])[None])[0]
            aim[id] = said["aim_lab"]
            off[id] += [float(pr.off(np.array(said["dab_lab"]), look)), float(pr.off(np.array(aim[id]), look))]
            for paint, n in added(said, rng).items():
                pots[id][paint] = pots[id].get(paint, 0) + n
    rows = [
        (o[0], o[2], o[1], o[3], float(pr.off(np.array(aim[id]), pr.lab_of(mine.mix(pots[id])[None])[0])))
        for id, o in off.items()
        if len(o) == 4
    ]
    print(
        f"| job {number}, {lamp}, {renderer} | " + " | ".join("/".join(f"{v:.1f}" for v in r) for r in rows), flush=True
    )
    return rows


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--jobs", type=int, default=6)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--cameras", type=Path)
    parser.add_argument("--measured", action="store_true")
    given = parser.parse_args()
    rows = list[tuple[float, ...]]()
    print("| dab read, again / before / once / twice")
    for number in range(given.first, given.first + given.jobs):
        with TemporaryDirectory() as folder:
            rows += one_job(number, given, Path(folder))
    a = np.array(rows)
    dabs = np.concatenate([a[:, 0], a[:, 1]])
    cells = [f"{np.median(v):.2f} / {np.percentile(v, 90):.2f}" for v in (dabs, a[:, 2], a[:, 3], a[:, 4])]
    worse = 100 * np.mean(a[:, 3] > a[:, 2] + 0.3)
    print(f"| dabs | before | once | twice | worse |\n| {' | '.join(cells)} | {worse:.0f} % of {len(a)} |")


if __name__ == "__main__":
    main()

"""How long the page's maker waits: after a picture, a name, a colour, a number of castings. Run by hand:

    python tests/benchmarks/page_latency.py tests/benchmarks/results/page.md

Wall-clock and processor seconds of the server in this process, medians of five; the memory through 200 edits; and what
a maker sees in Debian's chromium, in wall-clock seconds alone. Processor seconds are what a free machine comes near.
"""

import gc
import io
import os
import statistics
import sys
import tempfile
import time
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any

from PIL import Image, ImageDraw
from playwright.sync_api import sync_playwright

warnings.simplefilter("ignore")
sys.path.insert(0, str(Path(__file__).parents[1] / "page"))
from browsing import CHROMIUM, FLAGS, served  # noqa: E402
from starlette.testclient import TestClient  # noqa: E402

from finishplan.page.bench import Bench  # noqa: E402
from finishplan.page.guard import Keys  # noqa: E402
from finishplan.page.news import News  # noqa: E402
from finishplan.page.server import make_app  # noqa: E402

HOME, REPEATS = "http://127.0.0.1:8080", 5
NEWT = Path(__file__).parents[2] / "examples" / "newt.png"


def fish() -> bytes:
    """An invented fish of 100 areas: 98 scales in ten colours, an eye and its pupil."""
    image = Image.new("RGB", (1500, 1100), "#f8f5ee")
    draw = ImageDraw.Draw(image)
    tones = [f"#{(37 * k) % 200 + 40:02x}{(91 * k) % 190 + 50:02x}{(57 * k) % 180 + 50:02x}" for k in range(10)]
    for k in range(98):
        x, y = 60 + (k % 14) * 98, 60 + (k // 14) * 138
        draw.rectangle((x, y, x + 98, y + 138), tones[(3 * (k % 14) + 7 * (k // 14)) % 10], "#261c20", 5)
    draw.ellipse((120, 350, 190, 420), "#ffffff", "#261c20", 5)
    draw.ellipse((145, 375, 165, 395), "#101010")
    out = io.BytesIO()
    image.save(out, "PNG")
    return out.getvalue()


def twelve_megapixels() -> bytes:
    out = io.BytesIO()
    Image.open(NEWT).convert("RGB").resize((3600, 3348)).save(out, "PNG", compress_level=1)
    return out.getvalue()


class Clock:
    """A bench in a folder of its own, and how long it takes to answer."""

    def __init__(self, picture: bytes) -> None:
        self.bench = Bench(Path(tempfile.mkdtemp()), lambda stage: None)
        keys = Keys()
        self.client = TestClient(make_app(self.bench, keys, News()), base_url=HOME, headers={"origin": HOME})
        self.client.get(f"/enter?token={keys.token}", follow_redirects=False)
        self.picture = picture

    def until(self, name: str) -> None:
        while True:
            newest = self.client.get("/api/state").json()["revision"]
            found = self.client.get(f"/api/stage/{name}").json()
            if found["revision"] == newest:
                assert found["problem"] is None, found["problem"]
                return
            time.sleep(0.002)

    def edit(self, edits: dict[str, Any]) -> None:
        on = self.client.get("/api/state").json()["revision"]
        answer = self.client.post("/api/edit", json={"edits": edits}, headers={"if-match": f'"{on}"'})
        assert answer.status_code == 200, answer.text

    def waits(self, do: Callable[[int], None], name: str, repeats: int = REPEATS) -> tuple[float, float]:
        """Median wall-clock and processor seconds from doing it until the stage's answer."""
        took = []
        for k in range(repeats):
            self.until("plan")
            wall, work = time.perf_counter(), time.process_time()
            do(k)
            self.until(name)
            took.append((time.perf_counter() - wall, time.process_time() - work))
        return statistics.median(t[0] for t in took), statistics.median(t[1] for t in took)

    def first(self) -> list[tuple[str, float, float]]:
        wall, work = time.perf_counter(), time.process_time()
        assert self.client.post("/api/drawing", content=self.picture).status_code == 200
        rows = [("picture taken in", time.perf_counter() - wall, time.process_time() - work)]
        assert self.client.get("/api/picture").status_code == 200
        rows.append(("picture shown by the server", time.perf_counter() - wall, time.process_time() - work))
        for stage, said in (("reading", "numbered"), ("painting", "mixes and order"), ("plan", "searched run")):
            self.until(stage)
            rows.append((said, time.perf_counter() - wall, time.process_time() - work))
        return rows

    def rows(self) -> list[tuple[str, float, float]]:
        tones = ["#8040a0", "#40a080", "#a08040", "#4060a0", "#a04060"]
        found = self.first()
        for said, stage, do in (
            ("a name: until it stands in the reading", "reading", lambda k: self.edit({"3.name": f"name {k}"})),
            ("a colour: until mixes and order", "painting", lambda k: self.edit({"3.target": tones[k]})),
            ("castings: until the quick run", "run", lambda k: self.edit({"run.castings": 3 + k})),
            ("castings: until the searched run", "plan", lambda k: self.edit({"run.castings": 12 + k})),
        ):
            found.append((said, *self.waits(do, stage)))
        return found


def memory_mb() -> float:
    """What this process holds now (Linux: proc(5), statm, pages that are resident)."""
    gc.collect()
    return int(Path("/proc/self/statm").read_text().split()[1]) * 4096 / 1e6


def many_edits() -> list[str]:
    clock = Clock(NEWT.read_bytes())
    clock.first()
    held = []
    for done in range(0, 201, 50):
        if done:
            for k in range(50):
                clock.edit({"3.name": f"name {done + k}"})
            clock.until("plan")
        held.append(f"{done}: {memory_mb():.0f} MB")
    clock.bench.close()
    return ["## 200 names in a row", "", f"Memory held after so many: {', '.join(held)}.", ""]


class Seen:
    """What stands on the page, and after how long."""

    def __init__(self, page: Any) -> None:
        self.page = page
        self.took: list[tuple[str, float]] = []

    def timed(self, said: str, do: Callable[[], Any], seen: str) -> None:
        begun = time.perf_counter()
        do()
        self.page.locator(seen).first.wait_for(state="attached")
        self.took.append((said, time.perf_counter() - begun))

    def entered(self, key: str, text: str, said: str, seen: str) -> None:
        self.page.locator(f"[data-key={key}]").fill(text)
        self.timed(said, lambda: self.page.keyboard.press("Enter"), seen)
        self.page.locator("#stages a[href='#sheets']:not(.old)").wait_for()

    def all(self) -> None:
        sent = Path(tempfile.mkdtemp()) / "newt.png"
        sent.write_bytes(twelve_megapixels())
        choose = self.page.locator("#choose")
        choose.wait_for()
        self.timed("12 megapixels: in sight", lambda: choose.set_input_files(sent), "img.sending, image[href]")
        self.timed("numbered, from then", lambda: None, ".area")
        self.page.locator("#stages a[href='#sheets']:not(.old)").wait_for()
        self.page.locator(".area").first.focus()
        self.page.keyboard.press("Home")
        self.entered("name", "one name", "a name: in sight", "#beside h2:has-text('one name')")
        self.entered("target", "#8040a0", "a colour: mix and order", ".answer:not(.stale) [data-key=mix]")
        self.page.locator("#stages a[href='#run']").click()
        self.entered("run-castings", "12", "castings: a first run", ".figures:has-text('12 castings')")


def in_the_browser() -> list[str]:
    """From the moment a file is chosen, a name is entered, a number of castings set."""
    with served(Path(tempfile.mkdtemp())) as address, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        page = browser.new_page(reduced_motion="reduce")
        page.set_default_timeout(300_000)
        page.goto(address)
        seen = Seen(page)
        seen.all()
        browser.close()
    rows = [f"| {said} | {wall:.2f} |" for said, wall in seen.took]
    return ["## In the browser", "", "| until | wall s |", "| --- | --- |", *rows, ""]


def main(target: Path) -> None:
    lines = ["# The page: how long its maker waits", "", (__doc__ or "").split("\n\n")[2].strip(), ""]
    for said, picture in (
        ("newt, 58 areas", NEWT.read_bytes()),
        ("fish, 100 areas", fish()),
        ("newt, 12 megapixels", twelve_megapixels()),
    ):
        clock = Clock(picture)
        rows = clock.rows() if "12" not in said else clock.first()
        lines += [f"## {said}", "", "| until | wall s | processor s |", "| --- | --- | --- |"]
        lines += [f"| {name} | {wall:.2f} | {work:.2f} |" for name, wall, work in rows]
        reading = clock.client.get("/api/stage/reading")
        lines += [
            "",
            f"The reading as sent: {len(reading.content) / 1000:.0f} kB, {len(reading.json()['data']['areas'])} areas.",
            "",
        ]
        clock.bench.close()
    lines += [*many_edits(), *in_the_browser()]
    load = f"Other programs shared the machine: a load of {os.getloadavg()[1]:.0f} on {os.cpu_count()} cores."
    lines.insert(3, load)
    target.write_text("\n".join(lines), encoding="utf-8")
    print("\n".join(lines))


if __name__ == "__main__":
    main(Path(sys.argv[1]))

"""Take the picture of the bench page that README.md begins with: `python tools/picture_bench_page.py [FILE]`.

Opens the newt as a maker does, with `finishplan bench`, in Debian's chromium, and chooses its belly. Needs what the
browser tests need: Playwright, and `apt-get install chromium`. Run it after any change of how the page looks.
"""

import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import sync_playwright

EXAMPLES = Path(__file__).parents[1] / "examples"
SIZE = {"width": 1200, "height": 760}
CHOSEN = "belly"
LONG_MS = 300_000


def main(target: Path) -> None:
    folder = Path(tempfile.mkdtemp())
    for name in ("newt.png", "newt.toml"):
        shutil.copy(EXAMPLES / name, folder)
    command = [sys.executable, "-m", "finishplan", "bench", str(folder / "newt.png"), "--no-browser"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as bench:
        assert bench.stdout is not None
        photograph(bench.stdout.readline().partition(": ")[2].strip(), target)
        bench.terminate()
    shutil.rmtree(folder)


def photograph(address: str, target: Path) -> None:
    """The drawing view with one area chosen, once all is planned."""
    chromium = shutil.which("chromium") or "/usr/bin/chromium"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox", "--disable-gpu"])
        page = browser.new_page(viewport=SIZE, reduced_motion="reduce", color_scheme="light")
        page.set_default_timeout(LONG_MS)
        page.goto(address)
        page.locator("#stages a[href='#sheets']:not(.old)").wait_for()
        page.locator(f".area[aria-label*=', {CHOSEN},']").click()
        page.locator("#beside h2", has_text=CHOSEN).wait_for()
        page.screenshot(path=target)
        browser.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else EXAMPLES / "sheets" / "bench-page.png")

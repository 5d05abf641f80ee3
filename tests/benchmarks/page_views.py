"""Every view of the page in light and dark and at three widths: what axe-core finds, and pictures to look at. By hand:

    python tests/benchmarks/page_views.py tests/benchmarks/results/page-views.md [FOLDER FOR PICTURES]

Of the newt, with an area chosen, several chosen and a border, a problem told, and the empty bench.
"""

import shutil
import sys
import tempfile
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1] / "page"))
from browsing import CHROMIUM, FLAGS, VIEWS, go, served, wrong_with
from playwright.sync_api import sync_playwright

NEWT = Path(__file__).parents[2] / "examples" / "newt.png"
WIDTHS = {360: 740, 900: 800, 1600: 900}
LONG_MS = 180_000
SMALL = """() => [...document.querySelectorAll("a, button, input, select, summary, [role=option]")]
  .filter((e) => e.checkVisibility() && !e.matches(".skip, .area"))
  .map((e) => [e, (e.closest("label") ?? e).getBoundingClientRect()])
  .filter(([, b]) => b.width && (b.width < 24 || b.height < 24)).map(([e]) => e.outerHTML.slice(0, 80))"""
"""What is pressed and smaller than 24 px (WCAG 2.2, 2.5.8); areas are as large as drawn, and reached by keys."""


def states(page: Any) -> Any:
    """Each view and state in turn, by its name."""
    yield "drawing"
    page.locator(".area").first.focus()
    page.keyboard.press("Home")
    page.locator("#beside h2", has_text="Area").wait_for()
    go(page, "drawing")
    yield "one area"
    for view in VIEWS[1:]:
        go(page, view)
        yield view
    go(page, "run")
    page.locator("[data-key=run-castings]").fill("0")
    page.keyboard.press("Enter")
    page.locator("#notice", has_text="run.castings").wait_for()
    yield "a problem"
    page.locator("[data-key=away]").click()
    go(page, "drawing")
    page.locator(".area[tabindex='0']").focus()
    page.keyboard.press("Shift+ArrowDown")
    page.locator("#beside h2", has_text="2 areas").wait_for()
    go(page, "drawing")
    yield "several areas"
    page.keyboard.press("Escape")
    page.locator("[data-key=mode-borders]").check()
    page.locator(".band").first.dispatch_event("click")
    page.locator("#beside h2", has_text="Border").wait_for()
    yield "a border"


def look(browser: Any, home: str, kept: dict[str, Any], pictures: Path | None) -> list[str]:
    rows = []
    for width, height in WIDTHS.items():
        for scheme in ("light", "dark"):
            context = browser.new_context(
                viewport={"width": width, "height": height},
                color_scheme=scheme,
                storage_state=kept,
                bypass_csp=True,
                reduced_motion="reduce",
            )
            context.set_default_timeout(LONG_MS)
            page = context.new_page()
            page.goto(home)
            page.locator("#stages a[href='#sheets']:not(.old)").wait_for()
            for state in states(page):
                wrong = [*wrong_with(page), *(f"small: {one}" for one in page.evaluate(SMALL))]
                if page.evaluate("document.documentElement.scrollWidth") > width:
                    wrong.append("wider than the window")
                rows.append(f"| {width} | {scheme} | {state} | {'; '.join(wrong) or 'nothing'} |")
                print(rows[-1], flush=True)
                if pictures:
                    page.screenshot(path=pictures / f"{width}-{scheme}-{state.replace(' ', '-')}.png")
            context.close()
    return rows


def empty(browser: Any, pictures: Path | None) -> list[str]:
    """The page before a drawing lies there."""
    rows = []
    with served(Path(tempfile.mkdtemp())) as address:
        context = browser.new_context(bypass_csp=True, reduced_motion="reduce")
        page = context.new_page()
        page.goto(address)
        page.locator("#choose").wait_for()
        for width, height in WIDTHS.items():
            page.set_viewport_size({"width": width, "height": height})
            for scheme in ("light", "dark"):
                page.emulate_media(color_scheme=scheme)
                wrong = [*wrong_with(page), *(f"small: {one}" for one in page.evaluate(SMALL))]
                rows.append(f"| {width} | {scheme} | empty bench | {'; '.join(wrong) or 'nothing'} |")
                if pictures:
                    page.screenshot(path=pictures / f"{width}-{scheme}-empty.png")
        context.close()
    return rows


def main(target: Path, pictures: Path | None) -> None:
    folder = Path(tempfile.mkdtemp())
    drawing = Path(shutil.copy(NEWT, folder))
    with served(drawing) as address, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        first = browser.new_context()
        first.set_default_timeout(LONG_MS)
        page = first.new_page()
        page.goto(address)
        page.locator("#stages a[href='#sheets']:not(.old)").wait_for()
        rows = empty(browser, pictures) + look(browser, page.url.split("#")[0], first.storage_state(), pictures)
        browser.close()
    head = ["# The page's views", "", (__doc__ or "").split("\n\n")[2].strip(), ""]
    lines = [
        *head,
        "| px wide | | view | axe-core (WCAG 2.2 A, AA), faint texts, small targets |",
        "| --- | --- | --- | --- |",
    ]
    target.write_text("\n".join([*lines, *rows, ""]), encoding="utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]) if len(sys.argv) > 2 else None)

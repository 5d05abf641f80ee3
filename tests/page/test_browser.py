"""What a person does, in Debian's chromium: from an empty page to a saved PDF by mouse, by keyboard, on a phone."""

import io
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from browsing import CHROMIUM, FLAGS, VIEWS, go, served, there_is_a_browser, wrong_with
from pypdf import PdfReader
from toadstool import toadstool

sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
if not there_is_a_browser():
    pytest.skip("no chromium (apt-get install chromium)", allow_module_level=True)
WIDE, PHONE = {"width": 1280, "height": 800}, {"width": 360, "height": 740}
LONG_MS = 60_000


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of an empty bench."""
    with served(tmp_path_factory.mktemp("bench")) as address:
        yield address


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with sync_api.sync_playwright() as playwright:
        launched = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield launched
        launched.close()


@pytest.fixture(scope="module")
def session(browser: Any, home: str) -> Iterator[Any]:
    """One browser session, let in by the printed address."""
    context = browser.new_context(viewport=WIDE, reduced_motion="reduce")
    context.set_default_timeout(LONG_MS)
    context.new_page().goto(home)
    yield context
    context.close()


def lay(session: Any, there: bool) -> str:
    """See that the toad lies on the bench, or nothing does, whichever test came before: the page's address."""
    here = str(session.pages[0].url).split("#")[0]
    # The server ends a connection that was idle for ten seconds, perhaps just as it is used again: a browser repeats.
    if session.request.get(f"{here}api/state", max_retries=2).json()["open"] != there:
        what, sent = ("drawing?name=Toad", toadstool()) if there else ("close", None)
        assert session.request.post(f"{here}api/{what}", data=sent, headers={"origin": here.rstrip("/")}).ok
    return here


@pytest.fixture
def page(session: Any) -> Iterator[Any]:
    """A window on the toad; a fault of a script in it, or a request of another place, fails the test."""
    here = lay(session, there=True)
    opened, faults = session.new_page(), []
    opened.on("pageerror", lambda error: faults.append(str(error)))
    opened.on("console", lambda said: "Security Policy" in said.text and faults.append(said.text))
    opened.on("request", lambda one: one.url.startswith((here, "blob:", "data:")) or faults.append(one.url))
    opened.goto(here)
    yield opened
    opened.close()
    assert faults == []


def planned(page: Any) -> None:
    """Wait until the searched run of the job as it stands is there."""
    page.locator("#stages a[href='#sheets']:not(.old)").wait_for()


def saved_pdf(page: Any, press: Any) -> bytes:
    planned(page)
    with page.expect_download() as download:
        press()
    return Path(download.value.path()).read_bytes()


def test_by_mouse_from_an_empty_page_to_a_pdf(page: Any, session: Any) -> None:
    lay(session, there=False)
    page.locator("#choose").set_input_files({"name": "Toad.png", "mimeType": "image/png", "buffer": toadstool()})
    page.locator("#title", has_text="Toad").wait_for()
    shape = page.locator(".area").first
    shape.wait_for(state="attached")
    shape.click()
    page.locator("#beside h2", has_text="Area 1").wait_for()
    page.get_by_label("Name", exact=True).fill("red cap")
    page.keyboard.press("Enter")
    page.locator("#beside h2", has_text="1 red cap").wait_for()
    page.locator(".area").nth(1).click(modifiers=["Shift"])
    page.locator("#beside h2", has_text="2 areas chosen").wait_for()
    page.get_by_label("recess").check()
    page.get_by_role("button", name="Undo", exact=True).click()
    page.locator("[data-key=flag-recess]:not(:checked)").wait_for()
    page.locator("#stages a[href='#run']").click()
    page.locator("[data-key=run-castings]").fill("12")
    page.keyboard.press("Enter")
    page.locator(".figures", has_text="12 castings").wait_for()
    assert "Evening" not in page.locator(".chart").first.inner_text()
    page.locator("#stages a[href='#sheets']").click()
    page.locator(".sheets img").first.wait_for()
    planned(page)
    page.locator(".sheets:not(.stale) img").first.wait_for()
    printed = PdfReader(io.BytesIO(page.pdf(format="A4")))
    assert len(printed.pages) == page.locator(".sheets img").count() > 1
    pdf = saved_pdf(page, lambda: page.get_by_role("button", name="The sheets (PDF)").click())
    assert pdf.startswith(b"%PDF-") and len(pdf) > 10_000


FOCUS_SEEN = """() => {
  const [e, style] = [document.activeElement, getComputedStyle(document.activeElement)];
  if (e.matches(".area")) return document.querySelectorAll(".ring.focus").length > 0;
  return e.matches("body, #beside") || (style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2);
}"""
"""WCAG 2.2, 2.4.7: where the keyboard is can be seen. Areas are ringed above all others."""


def tab_to(page: Any, selector: str, back: bool = False) -> None:
    """Reach something with the Tab key alone."""
    for _ in range(120):
        page.keyboard.press("Shift+Tab" if back else "Tab")
        assert page.evaluate(FOCUS_SEEN), page.evaluate("document.activeElement.outerHTML.slice(0, 120)")
        if page.locator(f"{selector}:focus").count():
            return
    raise AssertionError(f"{selector} cannot be reached by the keyboard")


def test_by_keyboard_alone(page: Any) -> None:
    page.locator(".area").first.wait_for(state="attached")
    tab_to(page, ".area")
    page.keyboard.press("Home")
    page.keyboard.press("ArrowDown")
    page.locator("#beside h2", has_text="Area").wait_for()
    label = page.locator(".area:focus").get_attribute("aria-label")
    assert re.match(r"area \d+, .*chosen, \d of \d", label), label
    page.keyboard.press("Enter")
    page.locator("[data-key=name]:focus").wait_for()
    page.keyboard.type("by hand")
    page.keyboard.press("Enter")
    page.locator("#beside h2", has_text="by hand").wait_for()
    page.keyboard.press("Control+z")
    page.locator("#beside h2", has_text="by hand").wait_for(state="detached")
    tab_to(page, ".area")
    page.keyboard.press("Home")
    page.keyboard.press("Shift+ArrowDown")
    page.locator("#beside h2", has_text="2 areas chosen").wait_for()
    planned(page)
    assert page.locator("[data-key=mix]").input_value() == ""
    page.keyboard.press("a")  # both are painted with mix A, whatever its letter is then
    sync_api.expect(page.locator("[data-key=mix]")).to_have_value(re.compile("[A-Z]"), timeout=LONG_MS)
    tab_to(page, "#stages a[href='#order']")
    page.keyboard.press("Enter")
    tab_to(page, "#pass")
    page.keyboard.press("Home")
    page.locator("label[for=pass]", has_text="before pass 1").wait_for()
    tab_to(page, "#stages a[href='#sheets']", back=True)
    page.keyboard.press("Enter")
    planned(page)
    tab_to(page, "[data-key='save-painting-order.pdf']")
    assert saved_pdf(page, lambda: page.keyboard.press("Enter")).startswith(b"%PDF-")


def test_the_slider_paints_the_figure(page: Any) -> None:
    planned(page)
    page.goto(page.url.split("#")[0] + "#order")
    cap = page.locator(".area").first
    page.locator("[data-key=pass-0]").click()
    primed = cap.get_attribute("fill")
    for _ in range(page.locator(".passes .pass").count()):
        if page.locator("[data-key=pass-on]:not(:disabled)").count():
            page.locator("[data-key=pass-on]").click()
    assert re.match("#[0-9a-f]{6}", primed) and cap.get_attribute("fill") != primed


def test_a_pass_is_moved_by_the_keyboard_and_by_its_grip(page: Any) -> None:
    planned(page)
    page.goto(page.url.split("#")[0] + "#order")
    mix = page.locator("[data-key=pass-2] .swatch").inner_text().split(maxsplit=1)[1]
    moved = page.locator("[data-key=pass-1][aria-current]", has_text=mix)
    page.locator("[data-key=pass-2]").click()
    page.locator("[data-key=move-earlier]").press("Enter")
    moved.wait_for()
    page.locator("[data-key=move-earlier]").press("Enter")
    page.locator("#order-said", has_text="first pass already").wait_for()
    page.get_by_role("button", name="Undo", exact=True).click()
    page.locator("[data-key=pass-2]", has_text=mix).wait_for()
    planned(page)
    page.locator("[data-pass='2'] .grip").drag_to(page.locator("[data-pass='1']"), target_position={"x": 30, "y": 8})
    moved.wait_for()
    page.get_by_role("button", name="Undo", exact=True).click()
    page.locator("[data-key=pass-2]", has_text=mix).wait_for()


def test_sheets_set_otherwise_while_they_are_made_are_made_again(page: Any) -> None:
    """And a choice of fewer pots that cannot be weighed is told once, not asked for again and again."""
    planned(page)
    wishes, weighed = [], []
    page.on("request", lambda one: one.url.endswith("/api/sheets") and wishes.append(one.post_data_json))
    refused = {"problem": {"what": "cannot be weighed", "where": "", "cure": ""}}
    page.route("**/api/exchange", lambda route: (weighed.append(1), route.fulfill(status=422, json=refused)))
    page.locator("#stages a[href='#sheets']").click()
    page.locator(".sheets:not(.stale) img").first.wait_for()
    page.get_by_label("How much").select_option("wall")
    page.get_by_label("In greys").check()
    page.locator(".sheets:not(.stale) img").first.wait_for()
    assert wishes[-1] == {"paper": "a4", "detail": "wall", "grey": True}
    page.locator("#stages a[href='#shelf']").click()
    page.locator("[data-key=fewer] summary").click()
    page.locator("#notice", has_text="Cannot be weighed").wait_for()
    page.wait_for_timeout(200)
    assert len(weighed) == 1


def test_on_a_phone(browser: Any, session: Any) -> None:
    context = browser.new_context(
        viewport=PHONE, has_touch=True, is_mobile=True, storage_state=session.storage_state(), reduced_motion="reduce"
    )
    context.set_default_timeout(LONG_MS)
    page = context.new_page()
    page.goto(lay(session, there=True))
    page.locator(".area").first.wait_for(state="attached")
    page.locator(".area").first.tap()
    page.locator("#beside h2", has_text="Area").wait_for()
    for view in VIEWS:
        page.locator(f"#stages a[href='#{view}']").tap()
        page.locator(f"body[data-view={view}]").wait_for()
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"], view
        small = page.locator("button:visible, select:visible, #stages a:visible").evaluate_all(
            "all => all.filter(e => e.getBoundingClientRect().height < 43.5).map(e => e.outerHTML.slice(0, 80))"
        )
        assert small == [], view
        if view == "drawing":
            assert page.locator("#frame").bounding_box()["height"] > 0.4 * PHONE["height"]
    pdf = saved_pdf(page, lambda: page.get_by_role("button", name="The sheets (PDF)").tap())
    assert pdf.startswith(b"%PDF-")
    context.close()


def test_a_second_window_that_is_behind_is_told(page: Any, session: Any) -> None:
    late = session.new_page()
    late.route("**/api/events", lambda route: route.abort())
    with late.expect_response("**/api/state") as first:
        late.goto(page.url.split("#")[0] + "#run")
    before = first.value.text()
    late.route("**/api/state", lambda route: route.fulfill(body=before))
    late.locator("[data-key=run-castings]").wait_for()
    page.goto(page.url.split("#")[0] + "#run")
    page.locator("[data-key=run-castings]").fill("5")
    page.keyboard.press("Enter")
    page.locator("[data-key=undo]:not(:disabled)").wait_for()
    page.locator(".figures", has_text="5 castings").wait_for()
    late.get_by_label("People painting").fill("2")
    late.keyboard.press("Enter")
    late.locator("#notice", has_text="changed elsewhere").wait_for()
    assert late.locator("[data-key=run-castings]").input_value() == "5"
    late.get_by_role("button", name="Make it now").click()
    sync_api.expect(page.get_by_label("People painting")).to_have_value("2", timeout=LONG_MS)
    late.close()


def test_an_error_is_told_as_on_the_command_line_and_nothing_is_written(page: Any) -> None:
    page.goto(page.url.split("#")[0] + "#run")
    planned(page)  # a run that comes in meanwhile draws the view anew
    before = page.locator("[data-key=run-castings]").input_value()
    page.locator("[data-key=run-castings]").fill("0")
    page.keyboard.press("Enter")
    page.locator("#notice", has_text="run.castings").wait_for()
    page.locator("#notice", has_text="What helps").wait_for()
    page.get_by_role("button", name="Put away").click()
    assert page.locator("[data-key=run-castings]").input_value() == before != "0"


def test_a_lost_bench_is_told(page: Any, session: Any) -> None:
    page.goto(page.url.split("#")[0] + "#run")
    before = page.locator("[data-key=run-castings]").input_value()
    session.set_offline(True)
    page.locator("[data-key=run-castings]").fill("77")
    page.keyboard.press("Enter")
    page.locator("#notice", has_text="does not answer").wait_for()
    session.set_offline(False)
    page.reload()
    assert page.locator("[data-key=run-castings]").input_value() == before != "77"


@pytest.mark.parametrize(("scheme", "size"), [("light", WIDE), ("dark", PHONE)], ids=["light", "dark phone"])
def test_axe_finds_nothing(browser: Any, session: Any, scheme: str, size: dict[str, int]) -> None:
    """axe-core's rules for WCAG 2.2 A and AA, in every view."""
    context = browser.new_context(
        viewport=size,
        color_scheme=scheme,
        storage_state=session.storage_state(),
        bypass_csp=True,
        reduced_motion="reduce",
    )
    context.set_default_timeout(LONG_MS)
    page = context.new_page()
    page.goto(lay(session, there=True))
    planned(page)
    page.locator(".area").first.click()
    for view in VIEWS:
        go(page, view)
        assert wrong_with(page) == [], view
    context.close()

"""The PDFs read back: what must be where, nothing cut off, nothing overlapping, the same bytes again."""

import dataclasses
import io
import itertools
import math
import re
from pathlib import Path

import numpy as np
import pypdf
import pytest
from read_back import Page, clashes, pages, strays
from reportlab.pdfgen.canvas import Canvas
from sheet_plans import ACCENTED, LONG, Size, make_plan

from finishplan.basics.errors import InputError
from finishplan.basics.words import counted, duration
from finishplan.cli.tables import show_plan
from finishplan.order.brushes import FLAT_FROM_MM
from finishplan.order.model import Pass, PassWork
from finishplan.plan.plan import Plan
from finishplan.run.model import RunAdvice
from finishplan.sheets import page_pngs, write_sheets
from finishplan.sheets.book import pdf_bytes
from finishplan.sheets.look import BIG, Look
from finishplan.sheets.mix_card import _hazards
from finishplan.sheets.painting_order import Part, _coats_words, _reasons
from finishplan.sheets.swatches import all_mixes, mixes_of, pot_words
from finishplan.sheets.words import ml, sentence

MM = 72 / 25.4


def part_pages(found: list[Page], part: str) -> list[Page]:
    return [p for p in found if p.words.startswith(f"Painting order: {part}")]


def squeezed(text: str) -> str:
    return re.sub(r"\s+", "", text)


def check_complete(plan: Plan, found: list[Page]) -> None:
    """Every part, area, pass, mix, ingredient and task stands where it should."""
    of = dict(plan.mix_of)
    everything = squeezed("".join(p.text for p in found))
    for part in plan.scheme.parts:
        own = [p for p in found if squeezed(p.text).startswith(squeezed(f"Painting order: {part.name}")[:40])]
        assert own, part.name
        text = squeezed("".join(p.text for p in own))
        for i in part.areas:
            letter = plan.mixes[of[i]].id if i in of else "–"
            assert squeezed(f"{i}{letter}{plan.scheme.area(i).name}") in text, f"area {i}"
        due = [p for p in plan.order.passes if any(w.part == part.name for w in p.work)]
        big = "".join(p.written_in(BIG) for p in own)
        assert big == ("P" if due else "") + "".join(str(p.no) for p in due), part.name
        for laid in due:
            mix = all_mixes(plan)[laid.mix]
            assert squeezed(f"{mix.id} {mix.name}") in text
    cards = [p for p in found if "dab the mix here" in p.words]
    assert sum(p.words.count("dab the mix here") for p in cards) == len(all_mixes(plan))
    shown = squeezed("".join(p.text for p in cards))
    for mix in all_mixes(plan).values():
        assert squeezed(mix.name) in shown
        for ingredient in mix.recipe:
            assert squeezed(ingredient.name) in shown
    for no, coat in {(t.pass_no, t.coat) for t in plan.run.tasks if t.kind == "coat"}:
        assert f"Pass{no},coat{coat}" in everything
    for quantity in plan.quantities:
        assert quantity.what == "pass" or squeezed(quantity.name) in everything
    for caution in plan.cautions:
        assert squeezed(caution) in everything


def check_tidy(found: list[Page], paper: tuple[float, float]) -> None:
    """No overlap, nothing at the edge, nothing under 9 points, pages numbered."""
    for number, page in enumerate(found, 1):
        assert page.size == pytest.approx(paper, abs=0.01)
        assert clashes(page) == []
        assert strays(page) == []
        assert min(size for _, size in page.sizes) >= 9
        assert f"page {number} of {len(found)}" in page.words
        assert "A printed swatch is a guide, not a match." in page.words


A4, LETTER = (210 * MM, 297 * MM), (8.5 * 72, 11 * 72)
"""ISO 216 and ANSI/ASME Y14.1."""


def test_random_extremes_are_complete_and_tidy(extreme: tuple[Plan, str, bytes]) -> None:
    plan, paper, data = extreme
    found = pages(data)
    check_tidy(found, A4 if paper == "a4" else LETTER)
    if plan.scheme.name.startswith("灯"):
        assert "U+706F" in found[0].words + found[1].words
    check_complete(plan, found)


def test_newt_is_complete_and_tidy(newt: Plan, newt_pdf: bytes) -> None:
    found = pages(newt_pdf)
    check_tidy(found, A4)
    check_complete(newt, found)
    assert len(newt_pdf) < 1_500_000


def test_newt_wastes_no_paper(newt: Plan, newt_pdf: bytes) -> None:
    """28 pages at most for 12 castings in ten evenings; of one that goes on overleaf 65 % (a strip takes a third)."""
    assert newt.run.castings == 12
    found = pages(newt_pdf)
    assert len(found) <= 28
    checked = 0
    for page, following in itertools.pairwise(found):
        starts_new = "dab the mix here" in page.words or not following.words.startswith(page.words[:20])
        if page is not found[0] and starts_new:
            continue
        low = min(box[1] for _, box in page.boxes if box[1] > 15 * MM)
        assert (page.size[1] - 25 * MM - low) / (page.size[1] - 40 * MM) >= 0.65, page.words[:60]
        checked += 1
    assert checked >= 10


def test_reasons_of_a_part_speak_of_its_areas_alone(newt: Plan, newt_pdf: bytes) -> None:
    """Each reason that names areas stands on each part it names a painted area of, cut to the areas of that part."""
    found = pages(newt_pdf)
    text = {p.name: squeezed("".join(g.text for g in part_pages(found, p.name))) for p in newt.scheme.parts}
    named = [(a, re.compile(rf"(?<!\d){a.id} {re.escape(a.name)}(?!\w)")) for a in newt.scheme.areas]
    told = 0
    for part in newt.scheme.parts:
        here = Part(newt, Look(), part, all_mixes(newt))
        for laid in here.passes:
            reasons = _reasons(here, laid)
            for reason in reasons:
                assert squeezed(sentence(reason)) in text[part.name]
                assert not [a.id for a, words in named if words.search(reason) and a.part != part.name], reason
                assert not reason.startswith("one mix on ")
                told += 1
            for whole in (w for w in laid.why if " more" not in w and not w.startswith("one mix on ")):
                own = [words for a, words in named if a.part == part.name and words.search(whole)]
                assert all(any(words.search(r) for r in reasons) for words in own), whole
    assert told > 20


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("sheets", [("order", "mixes", "run"), ("order",), ("mixes",)])
def test_every_page_of_a_part_alone_has_content(plan: Plan, paper: str, sheets: tuple[str, ...]) -> None:
    """More than the foot on every page, the section named on the first; sheets without the part are refused."""
    found = pages(pdf_bytes(plan, part="part 1", paper=paper, sheets=sheets))
    check_content(found)
    check_tidy(found, A4 if paper == "a4" else LETTER)
    assert ("dab the mix here" if sheets == ("mixes",) else "Painting order: part 1") in found[0].words
    with pytest.raises(InputError, match="part 1"):
        pdf_bytes(plan, part="part 1", paper=paper, sheets=("run",))


def check_content(found: list[Page]) -> None:
    """Something stands above the foot of every page."""
    assert found
    for number, page in enumerate(found, 1):
        assert sum(len(text.strip()) for text, box in page.boxes if box[1] > 15 * MM) > 40, number


def test_every_page_has_content(pdf: bytes, newt_pdf: bytes) -> None:
    check_content(pages(pdf))
    check_content(pages(newt_pdf))


def test_several_pots_say_which_one_the_drops_are_for(newt: Plan, newt_pdf: bytes) -> None:
    """As the table of amounts says it: how many pots, and their sizes."""
    text = squeezed("".join(p.text for p in pages(newt_pdf)))
    several = [q for q in newt.quantities if q.what == "mix" and q.times_mixed > 1]
    assert several
    for q in several:
        said = pot_words(all_mixes(newt)[q.id], newt)
        sizes = re.findall(r"[\d.]+", q.note)[1:]
        assert f"{q.times_mixed} pots" in said and ("largest" in said) == (len(sizes) == 2)
        assert len(sizes) == 1 or f"({sizes[0]} to {sizes[1]})" in said
        assert squeezed(said).lower() in text.lower() and squeezed(q.note).lower() in text.lower()


def test_a_premix_is_told_on_its_card_as_the_amounts_tell_it(newt: Plan, newt_pdf: bytes) -> None:
    """In the same drops, which multiply to what the recipe names and are enough for all pots of the run."""
    cards = " ".join(p.words for p in pages(newt_pdf) if "dab the mix here" in p.words)
    told = re.findall(
        r"pre-mix, (\d+):(\d+),? in [\w ]+: (\d+) drops? into (\d+)((?:, (?:one|\d+) of that into \d+)*)", cards
    )
    asked = [(m, i.premix) for m in all_mixes(newt).values() for i in m.recipe if i.premix]
    assert len(told) == len(asked) > 0
    notes = {q.id: q.note for q in newt.quantities if q.what == "premix"}
    for (parts, of, drops, first, more), (mix, pre) in zip(told, asked, strict=True):
        assert (int(parts), int(of)) == (pre.parts, pre.of)
        plural = "s" if drops != "1" else ""
        said = f"{drops} drop{plural} into {first}{more}"
        assert notes[f"{pre.paint}:{pre.parts}:{pre.of}:{pre.into}"].startswith(said + ", for ")
        steps = [(int(drops), int(first))]
        steps += [(1 if a == "one" else int(a), int(b)) for a, b in re.findall(r"(one|\d+) of that into (\d+)", more)]
        share = np.prod([a / (a + b) for a, b in steps])
        assert share == pytest.approx(pre.parts / (pre.parts + pre.of))
        needed = next(q.drops for q in newt.quantities if (q.what, q.id) == ("mix", mix.id))
        whole = sum(i.parts for i in mix.recipe)
        assert sum(steps[-1]) >= sum(needed // whole * i.parts for i in mix.recipe if i.premix == pre)


def test_each_mix_keeps_to_one_card_and_says_each_caution_once(newt: Plan, newt_pdf: bytes) -> None:
    found = [p for p in pages(newt_pdf) if "dab the mix here" in p.words]
    said = "\n".join(p.text for p in found)
    assert "continued" not in said
    assert len(found) == -(-len(all_mixes(newt)) // 4)
    for mix in all_mixes(newt).values():
        told = _hazards(newt, mix)
        used = {i.paint for i in mix.recipe} | {i.premix.into for i in mix.recipe if i.premix}
        for paint in (p for p in newt.box.paints if p.id in used):
            for hazard in paint.hazards:
                subject, _, do = hazard.partition(": ")
                assert sum(do in line and subject in line for line in told) == 1
        assert len({line.rpartition(": ")[2] for line in told}) == len(told)
        assert squeezed(" ".join(map(sentence, told))) in squeezed(said)


def test_the_checks_find_an_overlap_and_a_stray() -> None:
    target = io.BytesIO()
    canvas = Canvas(target, A4)
    canvas.drawString(100, 100, "one line of text")
    canvas.drawString(120, 103, "another over it")
    canvas.drawString(A4[0] - 30, 400, "over the edge")
    canvas.save()
    page = pages(target.getvalue())[0]
    assert len(clashes(page)) == 1
    assert len(strays(page)) == 1


def test_text_agrees_with_a_second_reader(pdf: bytes) -> None:
    """pypdf, which shares no code with PDFium, reads the same words."""
    for mine, theirs in zip(pages(pdf), pypdf.PdfReader(io.BytesIO(pdf)).pages, strict=True):
        count = re.findall(r"\w+", theirs.extract_text())
        assert sorted(count) == sorted(re.findall(r"\w+", mine.text))


def test_fonts_are_embedded_and_colours_defined(pdf: bytes) -> None:
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    for page in reader.pages:
        fonts = page["/Resources"]["/Font"]
        assert fonts
        for font in fonts.values():
            assert "/FontFile2" in font.get_object()["/FontDescriptor"]
    intent = reader.trailer["/Root"]["/OutputIntents"][0]
    assert intent["/OutputConditionIdentifier"] == "sRGB IEC61966-2.1"
    assert intent["/DestOutputProfile"].get_data()[36:40] == b"acsp"


def test_profile_has_the_published_primaries() -> None:
    """Colorants adapted to D50 add up to its white, 0.9642 1 0.8249 (ICC.1), and red is that of IEC 61966-2-1."""
    from PIL import ImageCms

    from finishplan.sheets.layout import srgb_profile

    profile = ImageCms.ImageCmsProfile(io.BytesIO(srgb_profile())).profile
    columns = [profile.red_colorant[0], profile.green_colorant[0], profile.blue_colorant[0]]
    assert np.sum(columns, axis=0) == pytest.approx([0.9642, 1.0, 0.8249], abs=2e-4)
    assert columns[0] == pytest.approx((0.4360, 0.2225, 0.0139), abs=2e-4)


def test_bookmarks_lead_to_the_sections(plan: Plan, pdf: bytes) -> None:
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    found = [(mark.title, reader.get_destination_page_number(mark)) for mark in reader.outline]
    assert [title for title, _ in found if title.startswith("Painting order")] == [
        f"Painting order: {p.name}" for p in plan.scheme.parts
    ]
    for title, number in found:
        text = reader.pages[number].extract_text()
        assert {"Mix cards": "dab the mix here", "Lamplighter Newt": "Palette"}.get(title, title) in text


def hollow(plan: Plan) -> Plan:
    """The plan with nothing painted: what is left must still be sheets."""
    order = dataclasses.replace(plan.order, passes=(), edges=(), notes=())
    run = dataclasses.replace(plan.run, tasks=(), finish_min=(), sessions=(), makespan_min=0.0, advice=())
    empty = {"mixes": (), "mix_of": (), "quantities": (), "assumptions": (), "cautions": (), "notes": (), "steps": ()}
    return dataclasses.replace(plan, order=order, run=run, dry=plan.dry[:1], date="", **empty)


def test_a_plan_with_nothing_to_paint(plan: Plan) -> None:
    found = pages(pdf_bytes(hollow(plan)))
    check_tidy(found, A4)
    assert "Nothing is painted on this part." in found[-2].words
    assert sum("stays bare" in p.words for p in found) == len(plan.scheme.parts)


def test_an_area_missing_from_the_label_map(plan: Plan) -> None:
    """A patch folded away in the working copy has no place in a picture, but stays in the list."""
    labels = np.where(plan.drawing.labels == 3, 1, plan.drawing.labels)
    lost = dataclasses.replace(plan, drawing=dataclasses.replace(plan.drawing, labels=labels))
    check_complete(lost, pages(pdf_bytes(lost)))


def test_names_are_text_not_markup() -> None:
    name = "<b>Newt</b> & <font size=40>co</font> &amp; \\n %s {0}"
    found = pages(pdf_bytes(make_plan(size=Size(name=name)), sheets=()))
    assert squeezed(name) in squeezed(found[0].text)
    assert max(s for p in found for _, s in p.sizes) == BIG


def test_same_plan_same_bytes(pdf: bytes) -> None:
    assert pdf_bytes(make_plan()) == pdf
    assert b"CreationDate (D:2000" in pdf or b"/CreationDate" not in pdf


def test_grey_is_the_luminance_of_the_colour_page(plan: Plan) -> None:
    """Pixel by pixel on flat ground; the luminance of sRGB is that of colour-science."""
    import colour
    import pypdfium2 as pdfium

    coloured, grey = (pdfium.PdfDocument(pdf_bytes(plan, grey=g, sheets=())) for g in (False, True))
    coloured_pages = 0
    for k in range(len(coloured)):
        a, b = (np.asarray(d[k].render(scale=1).to_pil().convert("RGB")) for d in (coloured, grey))
        assert (b[..., 0] == b[..., 1]).all() and (b[..., 0] == b[..., 2]).all()
        luminance = colour.sRGB_to_XYZ(a / 255)[..., 1]
        expected = 255 * colour.cctf_encoding(np.clip(luminance, 0, 1), function="sRGB")
        assert np.mean(np.abs(expected - b[..., 0]) < 3) > 0.97
        coloured_pages += np.ptp(a.astype(int), axis=2).max() > 60
    assert coloured_pages == len(coloured)


def test_grey_file_holds_no_colour_operators(plan: Plan) -> None:
    reader = pypdf.PdfReader(io.BytesIO(pdf_bytes(plan, grey=True)))
    for page in reader.pages:
        assert not re.search(rb"\s(rg|RG|k|K)\s", page.get_contents().get_data())
        for image in page["/Resources"].get("/XObject", {}).values():
            assert image.get_object()["/ColorSpace"] == "/DeviceGray"


def test_cards_are_a_quarter_page(pdf: bytes) -> None:
    """Each card's blank to dab in lies wholly in its own quarter: A6 is a quarter of A4 (ISO 216)."""
    card_pages = [p for p in pages(pdf) if "dab the mix here" in p.words]
    for page in card_pages:
        quarters = [
            (box[0] < page.size[0] / 2, box[1] < page.size[1] / 2) for text, box in page.boxes if "dab the mix" in text
        ]
        assert len(set(quarters)) == len(quarters) <= 4
        for text, (left, bottom, right, top) in page.boxes:
            assert not left < page.size[0] / 2 < right, text
            assert not bottom < page.size[1] / 2 < top, text


def test_one_part_alone(plan: Plan) -> None:
    name = plan.scheme.parts[1].name
    found = pages(pdf_bytes(plan, part=name))
    passes = [p for p in plan.order.passes if any(w.part == name for w in p.work)]
    cards = "".join(p.words for p in found if "dab the mix here" in p.words)
    assert part_pages(found, name)
    assert not part_pages(found, plan.scheme.parts[0].name)
    assert cards.count("dab the mix here") == len({m for p in passes for m in mixes_of(p)})
    assert not any("Run sheet" in p.words for p in found)


@pytest.mark.parametrize(
    "kind, sign", [("order", "Painting order:"), ("mixes", "dab the mix here"), ("run", "Run sheet")]
)
def test_one_kind_of_sheet(plan: Plan, kind: str, sign: str) -> None:
    text = "".join(p.words for p in pages(pdf_bytes(plan, sheets=(kind,))))
    others = {"Painting order:", "dab the mix here", "Run sheet"} - {sign}
    assert sign in text
    assert not any(o in text for o in others)


@pytest.mark.parametrize(
    "wish, key", [({"sheets": ("cards",)}, "cards"), ({"paper": "a5"}, "a5"), ({"part": "tail"}, "tail")]
)
def test_unknown_wishes_are_refused(plan: Plan, wish: dict[str, object], key: str) -> None:
    with pytest.raises(InputError, match=key):
        pdf_bytes(plan, **wish)


def test_all_latin_letters_come_back() -> None:
    """Latin-1 and Latin Extended-A, and the signs of the trade, survive the way to paper."""
    letters = [chr(c) for c in (*range(0xC0, 0x180), *map(ord, "°µ×≤Δ–’")) if chr(c) not in "×÷ſŉ"]
    name = " ".join("".join(letters[k : k + 12]) for k in range(0, len(letters), 12))
    page = pages(pdf_bytes(make_plan(size=Size(name=name)), sheets=()))[0]
    assert squeezed(name) in squeezed(page.text)
    assert "U+" not in page.text


def test_letters_the_face_lacks_are_said() -> None:
    found = pages(pdf_bytes(make_plan(size=Size(name="灯 \u202e\x07 Newt 🦎 \ud800")), sheets=()))
    text = " ".join(p.words for p in found)
    assert "? Newt ? ?" in text
    assert "U+706F" in text and "U+1F98E" in text and "U+D800" in text


def test_headings_never_stand_alone() -> None:
    """Below every heading on a page something follows before the foot."""
    seen = set()
    for page in pages(pdf_bytes(make_plan(1, Size(3, 30, 12, 5, long_names=True)))):
        for text, box in page.boxes:
            if text.strip() in ("Passes", "Palette", "Cautions", "Notes", "Amounts", "Shopping list"):
                seen.add(text.strip())
                assert [t for t, b in page.boxes if b[3] < box[1] and b[1] > 12 * MM], text
    assert len(seen) == 6


@pytest.mark.parametrize("castings", [1, 9, 12, 30, 77])
def test_castings_have_a_box_each(castings: int, tmp_path: Path) -> None:
    """pdfplumber counts the tick boxes of a part: one for each casting, for primer and every coat."""
    import pdfplumber

    plan = make_plan(2, Size(1, 3, 3, castings, sessions=False))
    side = (6, 9) if castings > 30 else (12, 13)
    path = write_sheets(plan, tmp_path / "s.pdf", sheets=("order",), part="part 1")
    with pdfplumber.open(path) as document:
        numbered = [
            (page.page_number, r) for page in document.pages for r in page.rects
            if abs(r["width"] - r["height"]) < 0.01 and side[0] < r["width"] < side[1]
        ]  # fmt: skip
    squares = [r for _, r in numbered]
    coats = sum(max(w.coats for w in p.work) for p in plan.order.passes)
    assert len(squares) == castings * (1 + coats)
    assert all(0 < r["x0"] < r["x1"] < A4[0] - 14 for r in squares)
    tops = {(page_no, round(r["top"])) for page_no, r in numbered}
    assert castings > 30 or len(tops) <= (1 + len(plan.order.passes) if castings == 1 else 1 + coats)


def test_pngs_of_pages(plan: Plan, tmp_path: Path) -> None:
    from PIL import Image

    pdf = write_sheets(plan, tmp_path / "s.pdf", sheets=())
    paths = page_pngs(pdf, tmp_path / "pages", dpi=100)
    assert [p.name for p in paths] == [f"page-{k:02d}.png" for k in range(1, len(paths) + 1)]
    assert Image.open(paths[0]).size == pytest.approx((827, 1170), abs=1)
    with pytest.raises(InputError, match="dpi"):
        page_pngs(pdf, tmp_path, dpi=5)


def test_long_names_are_printed_whole() -> None:
    plan = make_plan(4, Size(2, 10, 4, 2, long_names=True))
    text = squeezed("".join(p.text for p in pages(pdf_bytes(plan, sheets=("order",)))))
    assert squeezed(LONG) in text
    assert squeezed(ACCENTED) in text


def test_a_mix_card_counts_castings_on_one_line(newt_pdf: bytes) -> None:
    """A piece is a part elsewhere."""
    cards = [p for p in pages(newt_pdf) if "dab the mix here" in p.words]
    said = "\n".join(p.text for p in cards)
    assert re.search(r"1 casting\s+(the run|a pot)", said) and "1 piece" not in said


@pytest.mark.parametrize(
    "work, said",
    [
        ([(5, "undercoat", 1), (2, "dot", 2), (4, "dot", 2), (8, "undercoat", 1)],
         "Dots: 2 thin coats on areas 2 and 4. Undercoat: 1 thin coat on areas 5 and 8."),
        ([(5, "undercoat", 2), (2, "colour", 4), (4, "dot", 2)],
         "4 thin coats on areas 2 and 4 (area 4: only 2). Undercoat: 2 thin coats on area 5."),
        ([(5, "undercoat", 2), (8, "undercoat", 1)], "Undercoat: 2 thin coats (area 8: only 1)."),
        ([(2, "colour", 4), (4, "dot", 4)], "4 thin coats."),
    ],
)  # fmt: skip
def test_an_undercoat_beside_other_work_has_its_own_coats_and_areas(
    plan: Plan, work: list[tuple[int, str, int]], said: str
) -> None:
    order = dataclasses.replace(plan.order, coats=())
    done = tuple(PassWork(area, "head", coats, 1.0, kind) for area, kind, coats in work)  # type: ignore[arg-type]
    kinds = {w.kind for w in done}
    kind = "colour" if "colour" in kinds else "undercoat"
    assert _coats_words(order, dataclasses.replace(plan.order.passes[0], kind=kind, work=done), done) == said


def test_coats_along_the_line_only_are_told_apart(newt: Plan, newt_pdf: bytes, capsys: pytest.CaptureFixture) -> None:
    """On the strip, beside its boxes and in the terminal: not as coats over the whole area."""
    along = [c for c in newt.order.coats if c.edge_coats]
    assert along
    found = pages(newt_pdf)
    show_plan(newt, [])
    shown = capsys.readouterr().out
    for c in along:
        work = next(w for p in newt.order.passes for w in p.work if w.area == c.area and w.kind != "undercoat")
        text = " ".join(p.words for p in part_pages(found, work.part))
        assert f"then {c.edge_coats} along the line only" in text
        assert f"+ {c.edge_coats} at the line" in shown
    alike = [p for p in newt.order.passes if set(p.areas) <= {c.area for c in along}]
    assert alike
    for laid in alike:
        text = " ".join(p.words for p in part_pages(found, laid.work[0].part))
        line = min(newt.order.line_coats(w) for w in laid.work)
        whole = max(w.coats - newt.order.line_coats(w) for w in laid.work)
        assert f"{counted(whole, 'thin coat')}, then {line} along the line only" in text
        run = " ".join(p.words for p in found if "Painting order" not in p.words)
        for coat in range(1, laid.coats + 1):
            assert (f"coat {coat}, line" in text) or coat <= whole
            assert (f"Pass {laid.no}, coat {coat} along the line only" in run) == (coat > whole)


def test_the_passes_are_one_step_without_a_wait(newt: Plan, newt_pdf: bytes) -> None:
    """Which pass follows which on which casting, and every rest, stands in the run sheet."""
    passes = [s for s in newt.steps if s.key.startswith("pass-")]
    found = next(p for p in pages(newt_pdf) if "From the mould to the box" in p.words and "Paint as" in p.words)
    start = found.words.index(f"{passes[0].no}–{passes[-1].no}")
    row = found.words[start : found.words.index(str(passes[-1].no + 1), start + 8)]
    assert f"as the painting order and the run sheet say: {len(passes)} passes" in row and "wait" not in row
    primed = sum(t.end_min - t.start_min for t in newt.run.tasks if t.kind == "prime" or not t.pass_no)
    assert f"{duration((newt.run.painter_min - primed) / 12)} each" in row


def test_looking_over_what_is_primed_is_said_to_have_no_time(newt: Plan, newt_pdf: bytes) -> None:
    """Where the run begins the passes as soon as the primer is dry; priming itself takes what the run has for it."""
    step = {s.key: s for s in newt.steps}
    primed = sum(t.end_min - t.start_min for t in newt.run.tasks if not t.pass_no) / 12
    assert step["prime"].minutes == pytest.approx(primed, abs=0.1)
    said = (
        f"looking over what is primed (step {step['inspect'].no}, {duration(step['inspect'].minutes)} for each casting)"
    )
    (page,) = [p.words for p in pages(newt_pdf) if "Run sheet: 12 castings" in p.words]
    assert f"Not in these times: {said} before pass 1." in page
    skipped = dataclasses.replace(newt, steps=tuple(s for s in newt.steps if s.key != "inspect"))
    assert "Not in these times" not in "".join(p.words for p in pages(pdf_bytes(skipped, sheets=("run",))))


@pytest.mark.parametrize("fewest", [False, True])
def test_both_goals_stand_side_by_side(plan: Plan, fewest: bool) -> None:
    sign = -1 if fewest else 1
    figures = RunAdvice(9, 5, 9, "coat 2", None, 0, 0, 1, 50, 9, 9, 9, 90.0 * sign, -4 * sign, -16.0 * sign)
    run = dataclasses.replace(plan.run, makespan_min=300.0, painter_min=200.0, mix_changes=20, advice_figures=figures)
    settings = dataclasses.replace(plan.run_settings, fewest_changes=fewest)
    told = dataclasses.replace(plan, run=dataclasses.replace(run, sessions=()), run_settings=settings)
    page = pages(pdf_bytes(told))[0].words
    if fewest:
        assert "Or as soon as can be 3 h 30 min 24 mix changes, 3 h 36 min at the bench; fewest_changes = false" in page
    else:
        assert "Or with the fewest mix changes 6 h 30 min 16 mix changes, 3 h 04 min at the bench" in page
    assert "20 mix changes" in page
    same = dataclasses.replace(figures, other_later_min=0.0, other_changes=0, other_work_min=0.0)
    alike = dataclasses.replace(told, run=dataclasses.replace(told.run, advice_figures=same))
    assert "Or with" not in (page := pages(pdf_bytes(alike))[0].words) and "Or as soon" not in page


def strip_of(plan: Plan, text: str, part: str, laid: Pass) -> str:
    """What stands on a part's pages from the mix of a pass to that of the next."""
    at, begin, end = 0, 0, len(text)
    for p in (p for p in plan.order.passes if any(w.part == part for w in p.work)):
        at = text.index(f"{p.mix} {all_mixes(plan)[p.mix].name} ", max(at + 1, text.index("Passes have the whole")))
        begin = at if p == laid else begin
        end = min(end, at) if begin and at > begin else end
    return text[begin:end]


def test_each_mix_of_a_pass_tells_its_own_paint(blended: Plan, blended_pages: dict[str, str]) -> None:
    """As the amounts have it; the second mix is not given the first one's."""
    two = [p for p in blended.order.passes if p.also_open]
    assert two
    takes = {(q.id, q.mix): q.ml_run for q in blended.quantities if q.what == "pass"}
    for laid in blended.order.passes:
        for part in {w.part for w in laid.work}:
            used = {laid.mix, *(w.mix for w in laid.work if w.mix and w.part == part)}
            for id in used:
                name = all_mixes(blended)[id].name
                told = rf"{id} {name} (?:Drops|Grams)[^;.]*; pass {re.escape(ml(takes[str(laid.no), id]))}"
                assert re.search(told, blended_pages[part]), told


def test_the_makers_words_stand_on_the_strip_of_their_pass(blended: Plan, blended_pages: dict[str, str]) -> None:
    for no, words in ((3, "Mind the lead line."), (7, "Mind the eyelids.")):
        laid = blended.order.passes[no - 1]
        painted = {w.part for w in laid.work}
        assert {part for part, text in blended_pages.items() if words in text} == painted
        assert all(words in strip_of(blended, blended_pages[part], part, laid) for part in painted)


def test_the_brush_suits_the_areas_of_the_part(blended: Plan, blended_pages: dict[str, str]) -> None:
    """A flat only where the part has an area broad enough for one; a part that gets dots alone is dotted."""
    narrower = 0
    for laid in blended.order.passes:
        for part in {w.part for w in laid.work}:
            work = [w for w in laid.work if w.part == part]
            strip = strip_of(blended, blended_pages[part], part, laid)
            widest = max(blended.scheme.area(w.area).wide_mm for w in work)
            assert ("lat " in strip and "mm for the broad areas" in strip) == (widest >= FLAT_FROM_MM), strip
            assert ("cocktail stick" in strip) == any(w.kind == "dot" for w in work), strip
            narrower += "flat" in laid.brush and widest < FLAT_FROM_MM
    assert narrower


def test_a_wait_tells_what_the_dryer_makes_of_it(blended: Plan, blended_pages: dict[str, str], newt_pdf: bytes) -> None:
    held, wait = math.ceil(blended.dry[1].dryer_hand_min or 0), math.ceil(blended.dry[1].recoat_min)
    assert f"Wait {wait} min, or {held} min under the dryer" in blended_pages["head"]
    assert "under the dryer" not in "".join(p.words for p in pages(newt_pdf))


def test_minutes_a_casting_agree_from_page_to_page(newt: Plan, newt_pdf: bytes) -> None:
    """The first page counts priming in and says so; the steps tell priming and the passes apart."""
    found = pages(newt_pdf)
    each = newt.run.painter_min / newt.run.castings
    assert f"{duration(each)} for each casting, priming included" in found[0].words
    steps = next(p.words for p in found if "From the mould to the box" in p.words and "Paint as" in p.words)
    primed = sum(t.end_min - t.start_min for t in newt.run.tasks if not t.pass_no) / newt.run.castings
    assert f"{duration(each - primed)} each" in steps and duration(primed + 0.5) != duration(0.5)


def test_a_session_tells_its_start_once(newt: Plan, newt_pdf: bytes) -> None:
    text = "\n".join(p.text for p in pages(newt_pdf))
    assert newt.run.sessions[1].clock == "day 2, 19:00"
    heads = re.findall(r"Session \d+.*", text)
    assert "Session 1: 19:00 to 22:00" in heads[0] and any("Session 2, day 2: 19:00 to" in h for h in heads)
    assert all(h.count("19:00") <= 1 for h in heads)

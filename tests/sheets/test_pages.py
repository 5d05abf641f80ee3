"""The PDFs read back: what must be where, nothing cut off, nothing overlapping, no paper wasted, the same bytes."""

import dataclasses
import io
import itertools
import re
from functools import lru_cache
from pathlib import Path

import numpy as np
import pypdf
import pytest
from read_back import Page, clashes, pages, strays
from reportlab.pdfgen.canvas import Canvas
from small_plans import ACCENTED, LONG, Size, make_plan

from finishplan.basics.errors import InputError
from finishplan.basics.words import duration
from finishplan.plan.plan import Plan
from finishplan.sheets import BENCH, DETAILS, KINDS, pages_as_png, write_sheets
from finishplan.sheets.book import pdf_bytes
from finishplan.sheets.look import NOTE, NUMBER, READ, SIGN
from finishplan.sheets.page import CLOSER

MM = 72 / 25.4
A4, LETTER = (210 * MM, 297 * MM), (8.5 * 72, 11 * 72)
"""ISO 216 and ANSI/ASME Y14.1."""


def squeezed(text: str) -> str:
    return re.sub(r"\s+", "", text)


@lru_cache(maxsize=64)
def of(data: bytes, section: str) -> list[Page]:
    """The pages of a section, by the file's bookmarks."""
    reader = pypdf.PdfReader(io.BytesIO(data))
    starts = [(mark.title, reader.get_destination_page_number(mark)) for mark in reader.outline]
    found = pages(data)
    ends = [*(at for _, at in starts[1:]), len(found)]
    wanted = [
        range(at, max(end, at + 1)) for (title, at), end in zip(starts, ends, strict=True) if title.startswith(section)
    ]
    return [found[k] for k in sorted({k for some in wanted for k in some})]


def text_of(data: bytes, section: str) -> str:
    return squeezed("".join(p.text for p in of(data, section)))


def part_section(name: str) -> str:
    return name if name.startswith("part") else f"Part: {name}"


def check_wall(plan: Plan, data: bytes) -> None:
    """Every pass in a sign of 18 points or more with its mix and every area's number; the whole figure numbered."""
    found = of(data, "Wall sheet")
    assert len(found) == max(1, -(-len(plan.order.passes) // 20))
    signs = "".join(p.written_in(SIGN + 4) for p in found)
    assert signs == "".join(str(p.no) for p in plan.order.passes)
    words = re.findall(r"\d+|[A-Z]+\d*", "".join(p.text for p in found[:1]))
    for area in plan.scheme.areas:
        assert str(area.id) in words, area.id
    text = squeezed("".join(p.text for p in found))
    for laid in plan.order.passes:
        assert laid.mix in text


def check_parts(plan: Plan, data: bytes) -> None:
    """Every area with its mix and name, every pass with coats as dots, wait and brush, on its part's pages."""
    letter = {i: plan.mixes[k].id for i, k in plan.mix_of}
    passes = {p.no: p for p in plan.order.passes}
    for part in plan.scheme.parts:
        text = text_of(data, part_section(part.name))
        for i in part.areas:
            assert squeezed(f"{i}{letter.get(i, '–')}{plan.scheme.area(i).name}") in text, f"area {i}"
        for one in (p for p in plan.part_passes if p.part == part.name):
            wait = duration(passes[one.pass_no].recoat_min, up=True)
            assert squeezed(f"wait {wait}") in text
            assert squeezed(one.brush) in text or squeezed(one.brush[0].upper() + one.brush[1:]) in text
            for i in one.areas:
                assert str(i) in text


def check_rest(plan: Plan, data: bytes) -> None:
    """Mixes, recipes and pots on the palette; every coat of the run on the evenings; amounts, steps, cautions."""
    mixes = {m.id: m for m in (*plan.mixes, *plan.order.extra_mixes)}
    palette, cards, run = (text_of(data, s) for s in ("Palette", "Mix cards", "The run"))
    for well in plan.wells:
        for text in (palette, cards):
            assert squeezed(mixes[well.mix].name) in text
            for name, _ in well.ingredients:
                assert squeezed(name) in text
    for t in plan.run.tasks:
        if t.kind == "coat":
            assert f"Pass{t.pass_no},coat{t.coat}" in run
    amounts = text_of(data, "Amounts and cautions")
    for quantity in plan.quantities:
        assert quantity.what == "pass" or squeezed(quantity.name) in amounts
    for caution in plan.cautions_short:
        assert squeezed(caution) in amounts
    steps = text_of(data, "From mould")
    for step in plan.steps:
        assert step.kind == "painting" or squeezed(step.text) in steps
    for caution in plan.cautions:
        assert squeezed(caution) in text_of(data, "Cautions")
    why = text_of(data, "Reasons")
    for one in plan.part_passes:
        assert all(squeezed(reason[1:]) in why for reason in one.why)


def check_tidy(found: list[Page], paper: tuple[float, float]) -> None:
    """No overlap, nothing at the edge, nothing under 9 points (8 where a section is drawn smaller), pages numbered."""
    for number, page in enumerate(found, 1):
        assert page.size == pytest.approx(paper, abs=0.01)
        assert clashes(page) == []
        assert strays(page) == []
        assert min(size for _, size in page.sizes) >= NOTE * min(CLOSER) - 1e-3 > 8
        cards = "dab here" in page.words or ", continued" in page.words
        assert cards or f"page {number} of {len(found)}" in page.words
        assert cards or "A printed swatch is a guide, not a match." in page.words


def test_extremes_are_complete_and_tidy(extreme: tuple[Plan, str, bytes]) -> None:
    plan, paper, data = extreme
    check_tidy(pages(data), A4 if paper == "a4" else LETTER)
    check_wall(plan, data)
    check_parts(plan, data)
    check_rest(plan, data)


def test_the_wall_tells_each_part_its_areas_and_marks_dots(newt: Plan, newt_pdf: bytes) -> None:
    """In a tile each part stands over its own numbers; dotted areas stand behind the word; waits stand at the head."""
    wall = of(newt_pdf, "Wall sheet")[0]
    text = " ".join(wall.text.split())
    dotted = [p for p in newt.part_passes if any(w.kind == "dot" for w in p.work)]
    assert dotted and text.count("dots ") >= len(dotted)
    for one in dotted:
        assert f"dots {min(w.area for w in one.work if w.kind == 'dot')} " in text
    for part in newt.scheme.parts:
        tiles = sum(p.part == part.name for p in newt.part_passes)
        assert len(re.findall(rf"\b{part.name}\b", text)) == tiles
    waits = {duration(p.recoat_min, up=True) for p in newt.order.passes}
    assert all(wait in text[: text.index("next coat on the same area")] for wait in waits)


def test_the_wall_says_what_lies_over_an_undercoat(plan: Plan) -> None:
    """On the undercoat's tile, and on that of the colour over it."""
    last = plan.part_passes[-1]
    no = next(p.pass_no for p in plan.part_passes if p.part == last.part and p.pass_no < last.pass_no)
    bed = dataclasses.replace(last.work[0], kind="undercoat", coats=1)
    passes = [dataclasses.replace(p, work=(*p.work, bed)) if p.no == no else p for p in plan.order.passes]
    done = [
        dataclasses.replace(p, work=(*p.work, bed)) if (p.pass_no, p.part) == (no, last.part) else p
        for p in plan.part_passes
    ]
    order = dataclasses.replace(plan.order, passes=tuple(passes))
    bedded = dataclasses.replace(plan, order=order, part_passes=tuple(done))
    before, after = (squeezed(of(pdf_bytes(p, sheets=("wall",)), "Wall")[0].text) for p in (plan, bedded))
    told = squeezed(f"over the undercoat of pass {no}")
    assert "undercoat" not in before and after.count("undercoat") == 2 and told in after


def test_newt_is_complete_and_tidy(newt: Plan, newt_pages: list[Page], newt_pdf: bytes) -> None:
    check_tidy(newt_pages, A4)
    check_wall(newt, newt_pdf)
    check_parts(newt, newt_pdf)
    assert len(newt_pdf) < 1_500_000


def test_newt_keeps_to_the_budget_of_pages(newt: Plan, newt_pages: list[Page]) -> None:
    """Sixteen pages at most for twelve castings; but for the last of its section none under half full."""
    assert newt.run.castings == 12 and len(newt_pages) <= 16
    for page, following in itertools.pairwise(newt_pages):
        if following.words[:12] == page.words[:12]:
            low = min(box[1] for _, box in page.boxes if box[1] > 15 * MM)
            assert (page.size[1] - low) / page.size[1] > 0.5, page.words[:60]


def test_type_is_as_large_as_it_must_be(newt: Plan, newt_pages: list[Page], newt_pdf: bytes) -> None:
    """14 points for the numbers of areas, 11 for what is read while painting, 9 for notes."""
    wall = of(newt_pdf, "Wall sheet")[0]
    numbers = wall.written_in(NUMBER) + wall.written_in(READ)
    for area in newt.scheme.areas:
        assert str(area.id) in numbers
    for part in newt.scheme.parts:
        page = of(newt_pdf, part_section(part.name))[0]
        read = squeezed(page.written_in(READ))
        for one in (p for p in newt.part_passes if p.part == part.name):
            assert squeezed(one.brush[1:]) in read
            assert "".join(map(str, one.areas[:1])) in page.written_in(NUMBER)


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("sheets", [BENCH, ("parts",), ("palette", "cards")])
def test_every_page_of_a_part_alone_has_content(plan: Plan, paper: str, sheets: tuple[str, ...]) -> None:
    """More than the foot on every page; its own mixes alone; sheets that no part has are refused."""
    found = pages(pdf_bytes(plan, part="part 1", paper=paper, sheets=sheets))
    check_tidy(found, A4 if paper == "a4" else LETTER)
    for number, page in enumerate(found, 1):
        assert sum(len(text.strip()) for text, box in page.boxes if box[1] > 15 * MM) > 40, number
    mine = {m for p in plan.part_passes if p.part == "part 1" for m in p.mixes}
    names = {m.name for m in plan.mixes if m.id not in mine}
    text = " ".join(p.words for p in found)
    assert not [name for name in names if re.search(rf"{name}(?!\d)", text)]
    with pytest.raises(InputError, match="part 1"):
        pdf_bytes(plan, part="part 1", paper=paper, sheets=("run",))


def test_one_kind_of_sheet_and_each_detail(plan: Plan) -> None:
    sections = {
        "wall": "Wall sheet",
        "palette": "Palette",
        "run": "The run",
        "reasons": "Reasons",
        "cards": "Mix cards",
    }
    for kinds in [*((kind,) for kind in sections), *DETAILS.values()]:
        reader = pypdf.PdfReader(io.BytesIO(pdf_bytes(plan, sheets=kinds)))
        titles = {mark.title for mark in reader.outline}
        assert {kind for kind, title in sections.items() if title in titles} == set(kinds) & set(sections)


@pytest.mark.parametrize(
    "wish, key", [({"sheets": ("order",)}, "order"), ({"paper": "a5"}, "a5"), ({"part": "tail"}, "tail")]
)
def test_unknown_wishes_are_refused(plan: Plan, wish: dict[str, object], key: str) -> None:
    with pytest.raises(InputError, match=key):
        pdf_bytes(plan, **wish)  # type: ignore[arg-type]


def test_a_premix_is_told_as_the_amounts_tell_it(newt: Plan, newt_pdf: bytes) -> None:
    """In drops that multiply to what the recipe names and are enough for all pots of the run."""
    palette = text_of(newt_pdf, "Palette")
    for well in newt.wells:
        mix = next(m for m in (*newt.mixes, *newt.order.extra_mixes) if m.id == well.mix)
        asked = list(dict.fromkeys(i.premix for i in mix.recipe if i.premix))
        assert len(well.premixes) == len(asked)
        for said, pre in zip(well.premixes, asked, strict=True):
            assert squeezed(said)[1:] in palette
            steps = re.findall(r"(one|\d+)(?: drops?| of that) into (\d+)", said)
            pairs = [(1 if a == "one" else int(a), int(b)) for a, b in steps]
            share = np.prod([a / (a + b) for a, b in pairs])
            assert share == pytest.approx(pre.parts / (pre.parts + pre.of))
            needed = sum(pot.drops[k] for pot in well.pots for k, i in enumerate(mix.recipe) if i.premix == pre)
            assert sum(pairs[-1]) >= needed


def test_pots_add_up_to_the_amounts(newt: Plan) -> None:
    for q in (q for q in newt.quantities if q.what == "mix"):
        well = next(w for w in newt.wells if w.mix == q.id)
        assert sum(sum(p.drops) for p in well.pots) == q.drops


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
        assert sorted("".join(count)) == sorted("".join(re.findall(r"\w+", mine.text)))


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

    from finishplan.sheets.document import srgb_profile

    profile = ImageCms.ImageCmsProfile(io.BytesIO(srgb_profile())).profile
    columns = [profile.red_colorant[0], profile.green_colorant[0], profile.blue_colorant[0]]
    assert np.sum(columns, axis=0) == pytest.approx([0.9642, 1.0, 0.8249], abs=2e-4)
    assert columns[0] == pytest.approx((0.4360, 0.2225, 0.0139), abs=2e-4)


def hollow(plan: Plan) -> Plan:
    """The plan with nothing painted: what is left must still be sheets."""
    order = dataclasses.replace(plan.order, passes=(), edges=(), notes=())
    run = dataclasses.replace(plan.run, tasks=(), finish_min=(), sessions=(), makespan_min=0.0, advice=())
    lists = ("mixes", "mix_of", "quantities", "assumptions", "cautions", "cautions_short", "notes", "steps", "wells")
    empty = dict.fromkeys((*lists, "part_passes"), ())
    return dataclasses.replace(plan, order=order, run=run, dry=plan.dry[:1], date="", **empty)


def test_a_plan_with_nothing_to_paint(plan: Plan) -> None:
    found = pages(pdf_bytes(hollow(plan)))
    check_tidy(found, A4)
    text = " ".join(p.words for p in found)
    assert text.count("Nothing is painted on this part.") == len(plan.scheme.parts)
    assert text.count("stays bare") == len(plan.scheme.areas)


def test_an_area_missing_from_the_label_map(plan: Plan) -> None:
    """A patch folded away in the working copy has no place in a picture, but stays in the list."""
    labels = np.where(plan.drawing.labels == 3, 1, plan.drawing.labels)
    lost = dataclasses.replace(plan, drawing=dataclasses.replace(plan.drawing, labels=labels))
    check_parts(lost, pdf_bytes(lost))


def test_names_are_text_not_markup() -> None:
    name = "<b>Newt</b> & <font size=40>co</font> &amp; \\n %s {0}"
    found = pages(pdf_bytes(make_plan(size=Size(2, 6, 3, 2, name=name)), sheets=("wall",)))
    assert squeezed(name) in squeezed(found[0].text)


def test_same_plan_same_bytes(pdf: bytes) -> None:
    assert pdf_bytes(make_plan(), sheets=KINDS) == pdf
    assert b"CreationDate (D:2000" in pdf or b"/CreationDate" not in pdf


def test_grey_is_the_luminance_of_the_colour_page(plan: Plan) -> None:
    """Pixel by pixel on flat ground; the luminance of sRGB is that of colour-science. No colour operator is left."""
    import colour
    import pypdfium2 as pdfium

    files = [pdf_bytes(plan, grey=g, sheets=("wall", "palette")) for g in (False, True)]
    coloured, grey = map(pdfium.PdfDocument, files)
    for k in range(len(coloured)):
        a, b = (np.asarray(d[k].render(scale=1).to_pil().convert("RGB")) for d in (coloured, grey))
        assert (b[..., 0] == b[..., 1]).all() and (b[..., 0] == b[..., 2]).all()
        luminance = colour.sRGB_to_XYZ(a / 255)[..., 1]
        expected = 255 * colour.cctf_encoding(np.clip(luminance, 0, 1), function="sRGB")
        assert np.mean(np.abs(expected - b[..., 0]) < 3) > 0.97
        assert np.ptp(a.astype(int), axis=2).max() > 60
    for page in pypdf.PdfReader(io.BytesIO(files[1])).pages:
        assert not re.search(rb"\s(rg|RG|k|K)\s", page.get_contents().get_data())
        for image in page["/Resources"].get("/XObject", {}).values():
            assert image.get_object()["/ColorSpace"] == "/DeviceGray"


def test_cards_are_an_eighth_of_a_page(pdf: bytes) -> None:
    """No text crosses a cut; each blank to dab into has a card of its own: A7 is an eighth of A4 (ISO 216)."""
    for page in (p for p in pages(pdf) if "dab here" in p.words):
        cells = []
        for text, (left, bottom, right, top) in page.boxes:
            assert int(2 * left / page.size[0]) == int(2 * right / page.size[0]), text
            assert int(4 * bottom / page.size[1]) == int(4 * top / page.size[1]), text
            if "dab here" in text:
                cells.append((int(2 * left / page.size[0]), int(4 * bottom / page.size[1])))
        assert len(set(cells)) == len(cells) <= 8


@pytest.mark.parametrize("castings, boxes", [(1, 1), (12, 12), (24, 24), (30, 15), (77, 20)])
def test_castings_are_ticked_off_in_one_strip(castings: int, boxes: int) -> None:
    """A row a pass and a box a casting, or a box for several."""
    import pypdfium2 as pdfium
    import pypdfium2.raw as raw

    plan = make_plan(2, Size(1, 6, 3, castings))
    data = pdf_bytes(plan, sheets=("parts",))
    each = 0.0
    for page in pdfium.PdfDocument(data):
        shapes = [o.get_bounds() for o in page.get_objects(filter=(raw.FPDF_PAGEOBJ_PATH,))]
        each += sum(10.5 < top - bottom < 12.5 and right - left < 16 for left, bottom, right, top in shapes)
    swatches = len(plan.scheme.areas)
    assert abs(each - boxes * len(plan.order.passes)) <= swatches and each >= boxes * len(plan.order.passes)


def test_pngs_of_pages_have_the_screens_proportions(plan: Plan, tmp_path: Path) -> None:
    from PIL import Image

    pdf = write_sheets(plan, tmp_path / "sheets.pdf", sheets=("wall", "palette"), paper="screen").read_bytes()
    made = pages_as_png(pdf, dpi=60)
    assert list(made) == [f"page-{k:02d}.png" for k in range(1, len(made) + 1)]
    with Image.open(io.BytesIO(made["page-01.png"])) as picture:
        assert picture.size[0] / picture.size[1] == pytest.approx(3 / 4, abs=0.005)
    with pytest.raises(InputError, match="dpi"):
        pages_as_png(pdf, dpi=5)


def test_long_names_are_printed_whole() -> None:
    plan = make_plan(4, Size(2, 10, 4, 2, long_names=True))
    text = squeezed("".join(p.text for p in pages(pdf_bytes(plan, sheets=("parts",)))))
    assert squeezed(LONG) in text
    assert squeezed(ACCENTED) in text


def test_the_passes_are_one_step(newt: Plan, newt_pdf: bytes) -> None:
    text = " ".join(p.words for p in of(newt_pdf, "From mould"))
    numbers = [s.no for s in newt.steps if s.key.startswith("pass-")]
    assert f"{numbers[0]}–{numbers[-1]}" in text and f"Paint {len(numbers)} passes" in text


def test_an_evening_tells_its_start_once(newt: Plan, newt_pdf: bytes) -> None:
    heads = re.findall(r"Evening \d+ [^\n]*", " \n".join(p.text.replace("\r", "") for p in of(newt_pdf, "The run")))
    assert newt.run.sessions[1].clock == "day 2, 19:00"
    assert "19:00 to" in heads[0] and any("day 2 · 19:00 to" in h for h in heads)
    assert all(h.count("19:00") <= 1 for h in heads)

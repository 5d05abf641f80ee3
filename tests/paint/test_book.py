"""The mix book: read, written in place, preferred where it serves, and what is said of a bad one."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from finishplan.basics.errors import InputError
from finishplan.colour.light import delta_e, lab_from_hex
from finishplan.paint.book import book_mix, book_warnings, closest, load_book, looks, parse_book, with_mixes
from finishplan.paint.book_palette import book_gpl, read_gpl
from finishplan.paint.box import load_box
from finishplan.paint.mixing import MixSettings, Wishes, find_mixes
from finishplan.paint.shelf import make_shelf

BOX = load_box(own=("PW6", "PY43", "burnt-sienna", "PB29", "PBk9"))
FAST = MixSettings(cache=False, max_paints=3)
OCHRE, PALE = "#b98a4a", "#e8dcc8"
BAD = {
    'recipe = { "unobtainium" = 1 }': "no paint 'unobtainium'",
    "recipe = {}": "not a recipe",
    'note = "x"': "has no recipe",
    'recipe = { "PW6" = 0 }': "whole number",
    'recipe = { "PW6" = 1, "titanium-white" = 2 }': "twice",
    'recipe = { "PW6" = 1 }\ncolour = "#ffffff"': "unknown key 'colour'",
    'recipe = { "PW6" = 1 }\nlab = [1, 2]': "not a colour",
}


def kept() -> str:
    mixes, _ = find_mixes([lab_from_hex(c) for c in (OCHRE, PALE)], BOX, FAST, screen=False)
    named = [
        book_mix(m, name, None, "2026-03-14", ("newt: coat",))
        for m, name in zip(mixes, ("mustard", "bone"), strict=True)
    ]
    return with_mixes("", named)


def test_what_is_kept_is_read_again_and_pre_mixes_with_it() -> None:
    mixes, _ = find_mixes([lab_from_hex(c) for c in (OCHRE, PALE)], BOX, FAST, screen=False)
    book = parse_book(kept(), BOX.table, "mixes.toml")
    assert [m.name for m in book] == ["mustard", "bone"]
    for mix, one in zip(mixes, book, strict=True):
        assert [(p.paint, p.drops, p.of) for p in one.recipe] == [
            (i.paint, i.parts, i.premix.of if i.premix else 0) for i in mix.recipe
        ]
    for (_, look), mix in zip(looks(book, make_shelf(BOX, FAST), BOX), mixes, strict=True):
        np.testing.assert_allclose(look, mix.lab, atol=1e-9)


def test_keeping_again_leaves_the_makers_note_and_comments() -> None:
    edited = kept().replace('note = ""', 'note = "thin well"  # mine', 1)
    book = parse_book(edited, BOX.table, "mixes.toml")
    again = with_mixes(edited, [replace(book[0], date="2026-05-01", used=("moth: strap",))])
    assert "# mine" in again
    first = parse_book(again, BOX.table, "mixes.toml")[0]
    assert first.note == "thin well" and first.date == "2026-05-01" and first.used == ("newt: coat", "moth: strap")


def test_a_known_mix_is_taken_where_it_serves_and_only_there() -> None:
    book = parse_book(kept(), BOX.table, "mixes.toml")
    mustard = np.array(book[0].lab)
    near, far = tuple(mustard + np.array([2.0, 0.5, 0.5])), tuple(mustard + np.array([12.0, 0.0, 0.0]))
    mixes, mix_of = find_mixes([near, far], BOX, FAST, Wishes(book=book), screen=False)
    one, other = mixes[mix_of[0]], mixes[mix_of[1]]
    assert one.from_book == one.name == "mustard" and other.from_book == ""
    assert one.delta_e == pytest.approx(float(delta_e(np.array(near), mustard)), abs=0.02)
    strict, _ = find_mixes([near], BOX, replace(FAST, within=1.0), Wishes(book=book), screen=False)
    assert strict[0].from_book == ""


def test_a_mix_is_judged_by_the_colour_in_which_it_came_out() -> None:
    book = parse_book(kept(), BOX.table, "mixes.toml")
    came = tuple(np.array(book[0].lab) + np.array([8.0, 0.0, 0.0]))
    dab = (replace(book[0], lab=came, came_out=True),)
    (mix,), _ = find_mixes([came], BOX, FAST, Wishes(book=dab), screen=False)
    assert mix.from_book == "mustard" and mix.lab == pytest.approx(came) and mix.delta_e == pytest.approx(0, abs=1e-9)


def test_a_book_for_other_paints_is_told_and_not_used() -> None:
    book = parse_book('[mixes.leaf]\nrecipe = { "PG7" = 1, "PY43" = 4 }', BOX.table, "b")
    (told,) = book_warnings(book, BOX)
    assert "leaf" in told and "halo green" in told.lower().replace("phthalo", "halo")
    assert not looks(book, make_shelf(BOX, FAST), BOX)
    mixes, _ = find_mixes([lab_from_hex(OCHRE)], BOX, FAST, Wishes(book=book), screen=False)
    assert mixes[0].from_book == ""


@pytest.mark.parametrize("entry", BAD)
def test_a_bad_book_is_told_in_one_line(entry: str, tmp_path: Path) -> None:
    file = tmp_path / "mixes.toml"
    file.write_text(f"[mixes.mustard]\n{entry}\n")
    with pytest.raises(InputError) as told:
        load_book(file, BOX.table)
    said = str(told.value)
    assert "\n" not in said and BAD[entry] in said and said.startswith(f"{file}: mixes.mustard") and "; " in said


def test_one_name_twice_and_foreign_tables_are_refused() -> None:
    one = '[mixes.leaf]\nrecipe = { "PW6" = 1 }\n'
    endless = one.replace("PW6", f"PW6 1:{'9' * 5000} in PBk9")
    for text in (one + one, one + one.replace("leaf", "Leaf"), one + "[paints]\n", "mixes = 3", endless):
        with pytest.raises(InputError, match=r"^b: "):
            parse_book(text, BOX.table, "b")


def test_how_a_new_colour_sits_to_the_book() -> None:
    shown = looks(parse_book(kept(), BOX.table, "b"), make_shelf(BOX, FAST), BOX)
    aims = [tuple(np.array(look) + np.array([1.5, 0, 0])) for _, look in shown]
    found = closest(aims, shown)
    assert [name for name, _ in found] == ["mustard", "bone"]
    for (_, far), aim, (_, look) in zip(found, aims, shown, strict=True):
        assert far == pytest.approx(float(delta_e(np.array(aim), np.array(look))))


def test_the_palette_of_a_drawing_program_goes_out_and_in() -> None:
    book = parse_book(kept(), BOX.table, "b")
    shown = looks(book, make_shelf(BOX, FAST), BOX)
    text = book_gpl(shown, "mixes")
    assert [name for name, _ in read_gpl(text, "m.gpl")] == ["mustard", "bone"]
    for (_, hex), (_, look) in zip(read_gpl(text, "m.gpl"), shown, strict=True):
        assert float(delta_e(np.array(lab_from_hex(hex)), np.array(look))) < 0.6
    for wrong in ("", "GIMP Palette\n300 0 0 x", "GIMP Palette\nred"):
        with pytest.raises(InputError):
            read_gpl(wrong, "m.gpl")

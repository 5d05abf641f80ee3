"""Boxes, a maker's own measurements and bottles, what to add, and what the box report says."""

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from finishplan.basics.errors import InputError
from finishplan.colour.film import film, inverse_saunderson, opaque, saunderson
from finishplan.colour.light import WAVELENGTHS_NM, delta_e, hex_from_lab, lab, lab_from_hex
from finishplan.paint.additions import fewest_additions, paint_to_add, with_paints
from finishplan.paint.box import STARTER, find_paint, load_box
from finishplan.paint.estimate import SCATTERING_PER_MM, Bottle, estimate_paint
from finishplan.paint.hazards import hazards_of
from finishplan.paint.measured import read_measured_paint
from finishplan.paint.mixing import MixSettings, find_mixes
from finishplan.paint.model import Paint, StandIn
from finishplan.paint.report import box_json, paint_facts
from finishplan.paint.table import load_table

TABLE = load_table(None)
WHITE = TABLE.paints[0]
FAST = MixSettings(cache=False)


def reflectance(paint: Paint, share: float = 1.0) -> np.ndarray:
    K, S = (share * getattr(paint, c) + (1 - share) * getattr(WHITE, c) for c in "KS")
    return saunderson(opaque(K, S), TABLE.k1, TABLE.k2)


def cgats(samples: dict[str, np.ndarray], digits: int = 6, scale: float = 1.0) -> str:
    """A CGATS.17 text file, as instruments export it."""
    fields = ["SAMPLE_ID", "SAMPLE_NAME", *(f"SPECTRAL_NM{w}" for w in WAVELENGTHS_NM)]
    rows = [
        f'{n} "{name}" ' + " ".join(f"{v * scale:.{digits}f}" for v in R) for n, (name, R) in enumerate(samples.items())
    ]
    head = ["CGATS.17", 'ORIGINATOR "test"', f"NUMBER_OF_FIELDS {len(fields)}", "BEGIN_DATA_FORMAT", " ".join(fields)]
    rest = ["END_DATA_FORMAT", f"NUMBER_OF_SETS {len(rows)}", "BEGIN_DATA", *rows, "END_DATA", ""]
    return "\n".join(head + rest)


@pytest.mark.parametrize("paint", TABLE.paints[1:], ids=lambda p: p.id)
def test_measurements_give_the_table_back(tmp_path: Path, paint: Paint) -> None:
    """Masstone and a 20 % tint with six decimals: S within 8 %, K within 1 % of its peak; with four, colours 0.05."""
    path = tmp_path / "own.txt"
    samples = {"mass tone": reflectance(paint), "tint": reflectance(paint, 0.2)}
    path.write_text(cgats(samples))
    K, S = read_measured_paint(path, TABLE, masstone="mass tone", tint="tint", ratio=0.2)
    np.testing.assert_allclose(S, paint.S, rtol=0.08)  # loosest where the white swallows more light than the paint
    np.testing.assert_allclose(K, paint.K, atol=0.01 * paint.K.max())
    path.write_text(cgats(samples, digits=2, scale=100))
    K, S = read_measured_paint(path, TABLE, masstone="mass tone", tint="tint", ratio=0.2)
    for share in (1.0, 0.5, 0.2, 0.05, 0.01):
        own = Paint("own", "own", "", K, S, 1.0)
        assert float(delta_e(lab(reflectance(own, share)), lab(reflectance(paint, share)))) < 0.05


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("SPECTRAL_NM450", "SPECTRAL_NM455", "lacks the wavelengths 450"),
        ("BEGIN_DATA_FORMAT", "DATA_FORMAT", "BEGIN_DATA_FORMAT"),
        ("SAMPLE_NAME", "KIND", ""),
        ('"tint"', '"tin"', "did you mean 'tin'"),
        ("0.9", "x0.9", "is not a number"),
        ("END_DATA\n", "", "has no BEGIN_DATA ... END_DATA"),
        ("SAMPLE_ID", "NUMBER", ""),
    ],
)
def test_wrong_measurements_say_where(tmp_path: Path, old: str, new: str, said: str) -> None:
    path = tmp_path / "own.txt"
    text = cgats({"mass": reflectance(TABLE.paints[3]), "tint": reflectance(TABLE.paints[3], 0.2)})
    assert old in text
    path.write_text(text.replace(old, new))
    if said:
        with pytest.raises(InputError) as error:
            read_measured_paint(path, TABLE, masstone="mass", tint="tint", ratio=0.2)
        assert said in str(error.value)
    else:
        masstone, tint = ("0", "1") if old == "SAMPLE_NAME" else ("mass", "tint")
        K, _ = read_measured_paint(path, TABLE, masstone=masstone, tint=tint, ratio=0.2)
        np.testing.assert_allclose(K, TABLE.paints[3].K, atol=0.01 * TABLE.paints[3].K.max())


def test_measured_paint_in_a_box(tmp_path: Path) -> None:
    paint = TABLE.paints[10]
    (tmp_path / "own.txt").write_text(cgats({"m": reflectance(paint), "t": reflectance(paint, 0.2)}))
    (tmp_path / "box.toml").write_text(
        'own = ["PW6"]\n[[paint]]\nname = "My red"\nmeasured = "own.txt"\nmasstone = "m"\ntint = "t"\nratio = 0.2\n'
    )
    box = load_box(file=tmp_path / "box.toml")
    assert [p.id for p in box.paints] == ["titanium-white", "my-red"]
    assert not box.paints[1].estimate
    np.testing.assert_allclose(box.paints[1].K, paint.K, atol=0.01 * paint.K.max())


@settings(max_examples=8, deadline=None)
@given(st.sampled_from(TABLE.paints[1:]), st.sampled_from(tuple(SCATTERING_PER_MM)))
def test_bottle_known_by_its_colour(paint: Paint, opacity: str) -> None:
    """A bottle of a table paint's colour is given that colour back."""
    text = hex_from_lab(lab(reflectance(paint)))
    K, S = estimate_paint(TABLE, Bottle(colour=text, tint=None, ratio=0.1, opacity=opacity))
    assert (K >= 0).all() and (S > 0).all()
    seen = lab(saunderson(opaque(K, S), TABLE.k1, TABLE.k2))
    assert float(delta_e(seen, lab_from_hex(text))) < 1.0
    assert S.mean() == pytest.approx(SCATTERING_PER_MM[opacity])


@pytest.mark.parametrize(
    "id", ["yellow-ochre", "iron-oxide-red", "cobalt-blue", "chromium-oxide-green", "burnt-sienna"]
)
def test_bottle_known_by_its_colour_and_tint(id: str) -> None:
    """With the tint too both colours come back, and other tints lie within a few units of the real paint's."""
    paint = find_paint(TABLE, id)
    colour, tint = (hex_from_lab(lab(reflectance(paint, c))) for c in (1.0, 0.1))
    K, S = estimate_paint(TABLE, Bottle(colour=colour, tint=tint, opacity="semi-opaque"))
    own = Paint("own", "own", "", K, S, 1.0, estimate=True)
    for share, most in ((1.0, 1.0), (0.1, 1.0), (0.5, 4.0), (0.03, 4.0)):
        assert float(delta_e(lab(reflectance(own, share)), lab(reflectance(paint, share)))) < most


def test_opacity_classes_are_the_quarters_of_the_table() -> None:
    S = sorted(float(p.S.mean()) for p in TABLE.paints)
    quarters = [np.median(q) for q in np.array_split(S, 4)]
    given_ = [SCATTERING_PER_MM[n] for n in ("transparent", "semi-transparent", "semi-opaque", "opaque")]
    np.testing.assert_allclose(given_, quarters, rtol=0.08)


def test_bottle_in_a_box_is_an_estimate(tmp_path: Path) -> None:
    (tmp_path / "box.toml").write_text(
        'own = ["titanium white"]\n[[paint]]\nname = "Brick"\ncolour = "#a0452e"\ntint = "#e7b8a8"\nml_left = 12\n'
        '[[paint]]\nof = "PW6"\nml_left = 40.0\nprice_per_ml = 0.2\n'
    )
    box = load_box(file=tmp_path / "box.toml")
    assert [(p.id, p.ml_left) for p in box.paints] == [("titanium-white", 40.0), ("brick", 12.0)]
    assert box.paints[0].price_per_ml == 0.2
    (sure, guess), _ = find_mixes([(99.4, -0.6, 0.3), (60, 25, 20)], box, FAST, screen=False)
    assert not sure.estimate and guess.estimate
    assert guess.expect_within > sure.expect_within


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("own = []", "empty"),
        ('own = ["PB99"]', "no paint 'PB99'"),
        ('own = ["titaniun-white"]', "did you mean 'titanium-white'"),
        ('own = ["PY34"]', "no paint 'PY34' in the table 'artists' acrylic paints'; add yours as [[paint]]"),
        ('own = ["PV1"]', "of this hue PV19 and PV23"),
        ('own = ["pbk 10"]', "of this hue PBk9 and PBk7"),
        ('own = ["PG18", "PBr7", "titaniun-white"]', "3 unclear names: no paint 'PG18'"),
        ('own = ["PG18", "PBr7", "titaniun-white"]', "raw-sienna, burnt-sienna, raw-umber, burnt-umber"),
        ('own = ["PBr7"]', "several paints"),
        ("own = [3]", "'own' is not a list of texts"),
        ('own = "PW6"', "'own' is not a list of texts; write own = [\"PW6\"]"),
        ("owned = []", "did you mean 'own'"),
        ('[[paint]]\nname = "x"', "'colour' is not a text"),
        ('[[paint]]\nname = "x"\ncolour = "red"', "not a colour"),
        ('[[paint]]\nname = "x"\ncolour = "#a0452e"\nopacity = "milky"', "unknown opacity 'milky'"),
        ('[[paint]]\nname = "x"\ncolour = "#a0452e"\nratio = 2', "'ratio' is 2"),
        ('[[paint]]\nname = "x"\ncolour = "#a0452e"\nml_left = -2', "'ml_left' is -2"),
        ('[[paint]]\nname = "x"\ncolour = "#a0452e"\nml_left = nan', "'ml_left' is nan"),
        ('[[paint]]\nname = "x"\ncolour = "#a0452e"\ntint = "#202020"', "no paint of colour"),
        ('[[paint]]\nname = "x"\nmeasured = "../../x.txt"\nmasstone = "a"\ntint = "b"\nratio = 0.1', "leads out"),
        ('[[paint]]\nof = "PW6"\nhue = 3', "unknown key 'hue'"),
        ("paint = 3", "'paint' is not a list"),
        ('[[paint]]\nname = "x"\ncolour = "#a0452e"\n[[paint]]\nname = "X"\ncolour = "#a0452e"', "a second paint 'x'"),
        ('table = "/etc/x.csv"', "leads out"),
        ('[[paint]]\nname = "Titanium white"\ncolour = "#ffffff"', "is a paint of the table"),
    ],
)
def test_wrong_boxes_say_what(tmp_path: Path, text: str, said: str) -> None:
    path = tmp_path / "box.toml"
    path.write_text(text)
    with pytest.raises(InputError) as error:
        load_box(file=path)
    assert said in str(error.value)
    assert "\n" not in str(error.value)


@pytest.mark.parametrize("row", TABLE.stand_ins, ids=lambda row: row.ci)
def test_a_common_tube_is_taken_as_the_nearest_measured_paint(row: StandIn) -> None:
    """By its Colour Index name and by its common name; with its own cautions, as an estimate, and the box says so."""
    box = load_box(own=("PW6", row.ci.lower(), "PBk9"))
    paint = next((p for p in box.paints if p.ci == row.ci), None)
    measured = find_paint(TABLE, row.paint)
    if paint is None:  # the box holds the measured paint itself
        assert row.paint in {p.id for p in box.paints} & {"bone-black"}
        return
    assert (paint.id, paint.name, paint.estimate) == (measured.id, row.name, True)
    assert paint.hazards == hazards_of(row.ci, row.name) and np.array_equal(paint.K, measured.K)
    assert f"{row.name} ({row.ci}) is taken as {measured.name}, {measured.ci}: your tube may differ." in box.notes


def test_two_names_of_one_measured_paint() -> None:
    """The measured one stays, with the cautions of both: PY35 holds cadmium (its constitution)."""
    box = load_box(own=("PW6", "PY35", "PY74", "PY1"))
    yellow = box.paints[1]
    assert len(box.paints) == 2 and yellow.ci == "PY74" and not yellow.taken_as
    assert any("cadmium" in h for h in yellow.hazards)


def test_box_without_white_or_black() -> None:
    """Both are searched as they are, and the box says what that costs."""
    box = load_box(own=("yellow-ochre", "ultramarine-blue"))
    assert box.white is None and box.black is None
    assert any("white" in n for n in box.notes) and any("black" in n for n in box.notes)
    (mix,), _ = find_mixes([(95, 0, 0)], box, FAST)
    assert not mix.reachable
    assert load_box(own=("PW6", "PBk9")).notes == ()


def test_a_bottle_is_known_by_its_pigment_however_it_is_written(tmp_path: Path) -> None:
    file = tmp_path / "box.toml"
    rows = (("Own white", "pw 6", "#f4f4f0"), ("Own black", "PBK7", "#202020"))
    file.write_text("".join(f'[[paint]]\nname = "{n}"\nci = "{ci}"\ncolour = "{c}"\n' for n, ci, c in rows))
    box = load_box(file=file)
    assert (box.white, box.black) == ("own-white", "own-black")


def test_starter_box() -> None:
    box = load_box()
    assert {p.id for p in box.paints} == set(STARTER)
    assert not any(w in h for p in box.paints for h in p.hazards for w in ("cadmium", "cobalt", "chromium", "lead"))
    assert box.white == "titanium-white" and box.black == "bone-black"


def test_what_the_box_tells() -> None:
    box = load_box(own=tuple(p.id for p in TABLE.paints))
    facts = {f.paint.id: f for f in paint_facts(box)}
    assert facts["carbon-black"].coats_over_white == 1
    needed, ochre = facts["yellow-ochre"].coats_over_black, facts["yellow-ochre"].paint
    assert needed is not None
    for coats, hidden in ((needed - 1, False), (needed, True)):
        laid = film(ochre.K, ochre.S, 0.020 * coats, inverse_saunderson(0.045, TABLE.k1, TABLE.k2))
        seen = lab(saunderson(np.stack([laid, opaque(ochre.K, ochre.S)]), TABLE.k1, TABLE.k2))
        assert bool(delta_e(*seen) <= 1) == hidden
    assert facts["iron-oxide-red"].opacity == "opaque"
    assert facts["phthalo-green-yellow-shade"].opacity == "transparent"
    strong, weak = facts["phthalo-blue-green-shade"].strength, facts["cobalt-blue"].strength
    assert strong is not None and weak is not None and strong > 5 * weak
    assert len(box_json(box)) == 30


def test_paint_to_add_is_the_best_of_all_tried_alone() -> None:
    """Each paint of the table added by itself, recipes of at most three: the named one is harmless and near enough."""
    box = load_box(own=("titanium-white", "yellow-ochre", "burnt-umber", "bone-black"))
    aim = lab(reflectance(find_paint(TABLE, "cobalt-blue"), 0.3))
    (named,) = paint_to_add(aim, box, FAST)
    assert named is not None
    wish = MixSettings(cache=False, max_paints=3, step=0.0)
    reach = {}
    for paint in TABLE.paints:
        (mix,), _ = find_mixes([tuple(aim)], with_paints(box, [paint.id]), wish, screen=False)
        reach[paint.id] = mix.delta_e
    assert reach[named] <= 2.0
    harmless = [p.id for p in TABLE.paints if not p.hazards and reach[p.id] <= 2.0]
    assert named in (harmless or [min(reach, key=lambda i: reach[i])])


@pytest.mark.parametrize(
    ("own", "aim"),
    [
        (("PBk9",), (99.0, 0.0, 1.0)),
        (("PBk9", "PB29"), (99.0, 0.0, 1.0)),
        (("PBk9", "PB29"), (85.0, -2.0, -8.0)),
        (("PBk9", "PB29"), (88.0, 12.0, 6.0)),
        (("PR101",), (78.0, 14.0, 8.0)),
    ],
)
def test_what_to_add_to_a_box_without_white(own: tuple[str, ...], aim: tuple[float, float, float]) -> None:
    """A pre-mix in a white nobody owns takes two purchases; what is named is enough, and one fewer is not."""
    box = load_box(own=own)
    assert box.white is None

    def reached(*ids: str) -> bool:
        wish = MixSettings(cache=False, max_paints=3, step=0.0)
        (mix,), _ = find_mixes([aim], with_paints(box, ids), wish, screen=False)
        return mix.reachable

    singly = [p.id for p in TABLE.paints if reached(p.id)]
    (named,) = paint_to_add(aim, box, FAST)
    assert named in singly if singly else named is None
    found = fewest_additions(aim, box, FAST)
    assert not found.beyond and reached(*found.paints)
    assert len(found.paints) == 1 if singly else len(found.paints) > 1


def test_fewest_additions_are_the_fewest() -> None:
    """By trying every pair and single paint of the table."""
    box = load_box(own=("titanium-white", "bone-black"))
    aims = np.array(
        [lab(reflectance(find_paint(TABLE, i), 0.4)) for i in ("pyrrole-red", "cobalt-blue", "yellow-ochre")]
    )
    found = fewest_additions(aims, box, FAST, tolerance=2.0, max_paints=2)
    assert found.beyond == ()
    wish = MixSettings(cache=False, max_paints=2, step=0.0)

    def serves(ids: tuple[str, ...]) -> bool:
        mixes, mix_of = find_mixes([tuple(a) for a in aims], with_paints(box, ids), wish, screen=False)
        return all(mixes[m].delta_e <= 2.0 for m in mix_of)

    assert serves(found.paints)
    assert len(found.paints) == 3
    from itertools import combinations

    tried = (
        "pyrrole-red",
        "cobalt-blue",
        "yellow-ochre",
        "iron-oxide-red",
        "naphthol-red",
        "raw-sienna",
        "cerulean-blue",
    )
    assert not any(serves(pair) for pair in combinations(tried, 2))


def test_nothing_to_add_and_nothing_that_helps() -> None:
    box = load_box()
    assert fewest_additions([(99.4, -0.6, 0.3)], box, FAST).paints == ()
    assert fewest_additions([(60, 110, -100)], box, FAST).beyond == (0,)


def test_note_on_what_to_add() -> None:
    box = load_box(own=("titanium-white", "burnt-umber", "yellow-ochre", "bone-black"))
    mixes, _ = find_mixes([(45, 15, -45), (60, 110, -100), (80, 5, 20)], box, FAST, screen=False)
    from finishplan.paint.additions import additions_note, advice

    note = additions_note(advice(mixes, box, FAST))
    assert re.match(r"One tube of [^(]+\(PB\d+\S*\) brings #\w+, now \d+\.\d off, within 2\.", note)
    assert f"No paint of the table brings {mixes[1].drawn_hex} within 2." in note
    assert additions_note(advice(mixes[2:], box, FAST)) == ""


def test_a_large_box_is_told_what_to_add_or_nothing() -> None:
    """With the table more paints than a box may name; of many parts more recipes than can be looked at."""
    from finishplan.paint.additions import additions_note, advice
    from finishplan.paint.box import make_box

    ochre = next(p for p in TABLE.paints if p.id == "yellow-ochre")
    box = make_box(TABLE, (WHITE, *(replace(ochre, id=f"ochre-{n}", taken_as="") for n in range(34))))
    few, many = (replace(FAST, max_paints=1, max_parts=n) for n in (4, 40))
    mixes, _ = find_mixes([(45, 60, 40)], box, few, screen=False)
    assert not mixes[0].reachable
    assert additions_note(advice(mixes, box, few)).endswith("would take more than 1 paint in a mix: raise max_paints.")
    assert advice(mixes, box, many) is None


def test_a_colour_that_takes_more_paints_than_allowed_asks_for_no_paint() -> None:
    """A grey green of white, ochre and blue, which no two paints of the box or the table make."""
    from finishplan.paint.additions import additions_note, advice

    box = load_box(own=("titanium-white", "yellow-ochre", "ultramarine-blue", "bone-black"))
    by_id = {p.id: p for p in box.paints}
    parts = {"titanium-white": 3, "yellow-ochre": 3, "ultramarine-blue": 2}
    K, S = (sum(n * getattr(by_id[i], what) for i, n in parts.items()) / 8 for what in ("K", "S"))
    aim = tuple(lab(saunderson(opaque(K, S), box.table.k1, box.table.k2)).tolist())
    two = replace(FAST, max_paints=2, premixes=False)
    mixes, _ = find_mixes([aim], box, two, screen=False)
    assert not mixes[0].reachable
    told = additions_note(advice(mixes, box, two))
    assert told == f"{mixes[0].drawn_hex} would take more than 2 paints in a mix: raise max_paints."
    assert find_mixes([aim], box, replace(two, max_paints=3), screen=False)[0][0].reachable


def test_no_colours_no_mixes() -> None:
    assert find_mixes([], load_box(), FAST) == ((), ())


VALUES = st.one_of(
    st.integers(-5, 5),
    st.floats(),
    st.booleans(),
    st.text(max_size=8),
    st.sampled_from(["#a0452e", "PW6", "x.txt", "opaque"]),
)
KEYS = st.sampled_from(
    ["name", "of", "ci", "colour", "tint", "ratio", "opacity", "measured", "masstone", "ml_left", "hue"]
)


def toml_of(value: object) -> str:
    """A value as TOML writes it."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return '"' + "".join(f"\\U{ord(c):08X}" if not c.isalnum() else c for c in value) + '"'
    return str(value)


@settings(max_examples=150, deadline=None)
@given(st.lists(st.dictionaries(KEYS, VALUES, max_size=5), max_size=3), st.lists(VALUES, max_size=3))
def test_any_box_file_is_read_or_refused(
    tmp_path_factory: pytest.TempPathFactory, entries: list[dict[str, object]], own: list[object]
) -> None:
    path = tmp_path_factory.mktemp("fuzz") / "box.toml"
    lines = [f"own = [{', '.join(map(toml_of, own))}]"] if own else []
    for entry in entries:
        lines += ["[[paint]]", *(f"{k} = {toml_of(v)}" for k, v in entry.items())]
    path.write_text("\n".join(lines), encoding="utf-8")
    try:
        box = load_box(file=path)
    except InputError as error:
        assert str(error).isprintable()
    else:
        assert box.paints


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda t: t.replace('"tint"', '"mass"'), "a second sample 'mass'"),
        (lambda t: t.replace("\n0 ", "\n0 0 "), "34 cells for 33 fields"),
        (lambda t: t.split("BEGIN_DATA\n")[0] + "BEGIN_DATA\nEND_DATA\n", "holds no sample"),
        (lambda t: t.replace("SAMPLE_NAME", "A").replace("SAMPLE_ID", "B"), "no SAMPLE_NAME or SAMPLE_ID"),
        (lambda t: t.replace(" 0.", " 900.", 1), "is not a reflectance"),
        (lambda t: t.replace(" 0.", " nan0.", 1), "is not a number"),
        (lambda t: t.replace('"tint"', "'tint"), ""),
    ],
)
def test_broken_measurements(tmp_path: Path, change: Callable[[str], str], said: str) -> None:
    path = tmp_path / "own.txt"
    good = cgats({"mass": reflectance(TABLE.paints[3]), "tint": reflectance(TABLE.paints[3], 0.2)})
    path.write_text(change(good))
    with pytest.raises(InputError) as error:
        read_measured_paint(path, TABLE, masstone="mass", tint="tint", ratio=0.2)
    assert said in str(error.value)


def test_tint_that_is_none(tmp_path: Path) -> None:
    """A 'tint' lighter than any of that paint in white could be: refused, or a paint that at least is finite."""
    path = tmp_path / "own.txt"
    path.write_text(cgats({"mass": np.full(31, 0.9), "tint": np.full(31, 0.9)}))
    try:
        K, S = read_measured_paint(path, TABLE, masstone="mass", tint="tint", ratio=0.2)
    except InputError as error:
        assert "no tint" in str(error)
    else:
        assert np.isfinite(K).all() and (S > 0).all()


def test_table_without_a_white(tmp_path: Path) -> None:
    from dataclasses import replace

    table = replace(TABLE, paints=TABLE.paints[2:])
    path = tmp_path / "own.txt"
    path.write_text(cgats({"mass": reflectance(TABLE.paints[3]), "tint": reflectance(TABLE.paints[3], 0.2)}))
    with pytest.raises(InputError, match="no white"):
        read_measured_paint(path, table, masstone="mass", tint="tint", ratio=0.2)
    with pytest.raises(InputError, match="no white"):
        estimate_paint(table, Bottle(colour="#a0452e", tint="#e7b8a8", ratio=0.1, opacity="opaque"))


@settings(max_examples=100, deadline=None)
@given(st.text(max_size=300), st.integers(0, 3))
def test_any_measurement_file_is_read_or_refused(
    tmp_path_factory: pytest.TempPathFactory, text: str, place: int
) -> None:
    good = cgats({"mass": np.full(31, 0.2), "tint": np.full(31, 0.6)}).split("BEGIN_DATA")
    path = tmp_path_factory.mktemp("fuzz") / "own.txt"
    path.write_bytes("BEGIN_DATA".join([*good[:place], text, *good[place:]]).encode("utf-8", "surrogatepass"))
    try:
        K, S = read_measured_paint(path, TABLE, masstone="mass", tint="tint", ratio=0.2)
    except InputError as error:
        assert str(error).isprintable()
    else:
        assert K.shape == S.shape == (31,)


def test_a_tube_that_holds_a_metal_is_advised_with_its_name() -> None:
    """Cadmium orange, PO20 (Colour Index), where nothing else of the table comes within reach of what it is itself."""
    from finishplan.paint.additions import additions_note, advice

    box = load_box(own=("titanium-white", "yellow-ochre", "ultramarine-blue", "bone-black"))
    orange = next(p for p in box.table.paints if p.ci == "PO20")
    aim = tuple(lab(saunderson(opaque(orange.K, orange.S), box.table.k1, box.table.k2)).tolist())
    two = replace(FAST, max_paints=2, premixes=False)
    mixes, _ = find_mixes([aim], box, two, screen=False)
    told = additions_note(advice(mixes, box, two))
    assert told.startswith("One tube of cadmium orange (PO20; holds cadmium) brings")

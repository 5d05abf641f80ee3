"""Photographs that cannot be trusted are refused, each with one line that says what to do."""

import io
import struct
import sys
import zlib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest
import simulated as sim
from judged import BOX, IDS, PAGE
from PIL import Image

from finishplan.basics.errors import InputError
from finishplan.photo.dab_page import Dab, dab_pages
from finishplan.photo.marks import find_page
from finishplan.photo.patches import read_page
from finishplan.photo.picture import open_photo
from finishplan.photo.read import learn_box, read_photo

SIZE = (1200, 1600)
Picture = np.ndarray


def taken(seed: int, **how: object) -> Picture:
    rng = np.random.default_rng(seed)
    return sim.photo_of(PAGE, sim.tubes(IDS, rng), rng, **({"size": SIZE, "px_per_mm": 5.0} | how))


def glaring(picture: Picture) -> Picture:
    rng = np.random.default_rng(1)
    spots = np.zeros(picture.shape[:2], np.float32)
    spots[rng.integers(220, SIZE[1] - 220, 900), rng.integers(250, SIZE[0] - 250, 900)] = 30_000
    return np.clip(picture + cv2.GaussianBlur(spots, (0, 0), 5)[:, :, None], 0, 255).astype(np.uint8)


def curled(picture: Picture) -> Picture:
    y, x = np.mgrid[: SIZE[1], : SIZE[0]].astype(np.float32)
    return cv2.remap(picture, x, y + 20 * np.sin(x / SIZE[0] * 4.7).astype(np.float32), cv2.INTER_LINEAR)


def shaded(picture: Picture) -> Picture:
    dark = picture.copy()
    dark[:, : SIZE[0] // 2] = (0.45 * dark[:, : SIZE[0] // 2]).astype(np.uint8)
    return dark


SPOILT: dict[str, tuple[str, Callable[[Picture], Picture]]] = {
    "cut off": ("marks|cut off", lambda p: np.ascontiguousarray(p[:, SIZE[0] // 3 :])),
    "blurred": ("blurred|marks|no swatch card", lambda p: cv2.GaussianBlur(p, (0, 0), 7)),
    "burnt": ("over-exposed", lambda p: np.clip(p.astype(float) * 1.4, 0, 255).astype(np.uint8)),
    "dark": ("dark|no swatch card|marks", lambda p: (p * 0.2).astype(np.uint8)),
    "glare": ("glare", glaring),
    "shadow": ("shadow", shaded),
    "curled": ("flat|marks", curled),
    "small": ("small|no swatch card|marks", lambda p: cv2.copyMakeBorder(
        cv2.resize(p, None, fx=0.4, fy=0.4, interpolation=cv2.INTER_AREA), 400, 400, 300, 300, cv2.BORDER_REPLICATE)),
    "nothing": ("no swatch card", lambda p: np.full_like(p, 190)),
}  # fmt: skip


@pytest.mark.parametrize("kind", SPOILT)
def test_spoilt(kind: str) -> None:
    said, spoil = SPOILT[kind]
    picture = spoil(taken(2))
    with pytest.raises(InputError, match=said) as refused:
        read_page(picture, find_page(picture, [PAGE], "card.jpg"), "card.jpg")
    assert refused.value.cure and "card.jpg" in str(refused.value)


def test_two_cards_and_a_mirrored_one() -> None:
    picture = taken(2)
    with pytest.raises(InputError, match="more than one page"):
        find_page(np.concatenate([picture, np.rot90(picture, 2)], axis=1), [PAGE])
    with pytest.raises(InputError, match="mirror"):
        find_page(np.ascontiguousarray(picture[:, ::-1]), [PAGE])


def test_another_card() -> None:
    dabs = dab_pages(BOX, [Dab("A", "moss")])
    with pytest.raises(InputError, match="not this job's page of dabs"):
        find_page(taken(2), dabs)
    with pytest.raises(InputError, match="shows no page of dabs; print one with `finishplan swatches --mixes JOB`"):
        find_page(np.full_like(taken(2), 190), dabs)


def test_unpainted() -> None:
    bare = np.array([np.full(31, sim.BAR if f.field.kind in ("bar", "thin") else sim.PAPER) for f in PAGE.fields])
    picture = taken(2, R=bare)
    with pytest.raises(InputError, match="not painted"):
        read_page(picture, find_page(picture, [PAGE]))


def spoilt_colours(kind: str) -> Picture:
    picture = taken(5, lamp="D55")
    if kind == "grey":
        return np.repeat(picture.mean(axis=2, keepdims=True), 3, axis=2).astype(np.uint8)
    if kind == "swapped":
        rng = np.random.default_rng(5)
        R = sim.reflectances(PAGE, sim.tubes(IDS, rng), rng)
        return taken(5, lamp="D55", R=R[[*range(9), *range(12, 15), *range(9, 12), *range(15, len(R))]])
    hsv = cv2.cvtColor(picture, cv2.COLOR_RGB2HSV).astype(float)
    hsv[..., 0] = (hsv[..., 0] + 25) % 180  # a filter of effects
    return cv2.cvtColor(hsv.astype(np.uint8), cv2.COLOR_HSV2RGB)


@pytest.mark.parametrize("kind", ["grey", "swapped", "filter"])
def test_colours_that_cannot_be(kind: str, tmp_path: Path) -> None:
    file = tmp_path / "card.png"
    Image.fromarray(spoilt_colours(kind)).save(file)
    with pytest.raises(InputError, match=r"plain photograph|any such tube"):
        learn_box([read_photo(file, [PAGE])], BOX)


def picture_file(form: str, mode: str = "RGB", size: tuple[int, int] = (1000, 1000), level: int = 128) -> bytes:
    data = io.BytesIO()
    Image.new(mode, size, level if mode != "RGB" else (level, level, level)).save(data, form)
    return data.getvalue()


def bomb(side: int) -> bytes:
    """A PNG of a few bytes that says it is side x side pixels."""
    head = b"IHDR" + struct.pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0)
    data = b"IDAT" + zlib.compress(bytes(1000))
    chunks = (struct.pack(">I", len(c) - 4) + c + struct.pack(">I", zlib.crc32(c)) for c in (head, data, b"IEND"))
    return b"\x89PNG\r\n\x1a\n" + b"".join(chunks)


@pytest.mark.parametrize(
    ("form", "mode", "level"), [("PNG", "I;16", 128 * 257), ("JPEG", "L", 128), ("TIFF", "LA", 128)]
)
def test_every_depth_and_mode_becomes_eight_bits_of_three(form: str, mode: str, level: int, tmp_path: Path) -> None:
    (tmp_path / "grey").write_bytes(picture_file(form, mode, level=level if mode != "LA" else (level, 255)))
    seen = open_photo(tmp_path / "grey")
    assert seen.shape == (1000, 1000, 3) and seen.dtype == np.uint8 and abs(int(seen[500, 500, 0]) - 128) <= 1


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("nothing.jpg", b"", "save the photograph as JPEG"),
        ("words.jpg", b"no picture at all " * 9, "save the photograph as JPEG"),
        ("moving.gif", picture_file("GIF"), "save the photograph as JPEG"),
        ("half.jpg", picture_file("JPEG")[:600], "damaged or cut short.*copy it from the phone"),
        ("tiny.jpg", picture_file("JPEG", size=(300, 200)), "too small"),
        ("wide.png", bomb(131_072), "17180 megapixels; set the camera"),
    ],
)
def test_files_that_are_no_photographs(name: str, data: bytes, said: str, tmp_path: Path) -> None:
    (tmp_path / name).write_bytes(data)
    with pytest.raises(InputError, match=said) as refused:
        open_photo(tmp_path / name)
    assert "\n" not in str(refused.value)


def test_heic_without_its_reader(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pi_heif", None)
    file = tmp_path / "card.heic"
    file.write_bytes(b"\0\0\0\x18ftypheic" + bytes(40))
    with pytest.raises(InputError, match="HEIC") as refused:
        open_photo(file)
    assert "JPEG" in refused.value.cure


def test_a_folder_is_no_photograph(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="folder"):
        open_photo(tmp_path)


def test_a_page_is_missing(tmp_path: Path) -> None:
    file = tmp_path / "card.png"
    Image.fromarray(taken(5)).save(file)
    photo = read_photo(file, [PAGE])
    alone = replace(photo, placed=replace(photo.placed, page=replace(PAGE, pages=2)))
    with pytest.raises(InputError, match="page 2 of the card is missing"):
        learn_box([alone], BOX)

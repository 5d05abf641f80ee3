"""One drawing saved in every format and mode reads as the same areas; profiles, orientation, frames and limits."""

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageCms, PngImagePlugin

from finishplan.basics.errors import InputError
from finishplan.drawing import read_drawing
from finishplan.drawing.load import WORKING_PIXELS, load
from finishplan.drawing.model import Drawing

from .generator import difference

RED, BLUE, SAND, PAPER = (190, 40, 50), (40, 80, 170), (222, 200, 150), (255, 255, 255)


def figure(size: tuple[int, int] = (300, 220)) -> Image.Image:
    """A sand body with a red belt and a blue spot on white paper."""
    w, h = size
    pixels = np.full((h, w, 3), PAPER, np.uint8)
    pixels[h // 6 : h - h // 6, w // 6 : w - w // 6] = SAND
    pixels[h // 2 : h // 2 + h // 8, w // 6 : w - w // 6] = RED
    pixels[h // 4 : h // 4 + h // 8, w // 3 : w // 3 + w // 10] = BLUE
    return Image.fromarray(pixels)


def palette(drawing: Drawing) -> np.ndarray:
    return np.array([list(bytes.fromhex(c.hex[1:])) for c in drawing.palette])


def same_colours(drawing: Drawing, colours: list[tuple[int, int, int]], within: float = 0.5) -> bool:
    gaps = difference(np.array(colours), palette(drawing))
    return len(drawing.palette) == len(colours) and bool((gaps.min(1) <= within).all())


WAYS = {
    "rgb.png": (lambda i: i, {}),
    "palette.png": (lambda i: i.quantize(16), {}),
    "transparent.png": (lambda i: cut_out(i), {}),
    "palette-alpha.png": (lambda i: cut_out(i).quantize(16, method=Image.Quantize.FASTOCTREE), {}),
    "jpeg.jpg": (lambda i: i, {"quality": 92, "subsampling": 0}),
    "progressive.jpg": (lambda i: i, {"quality": 92, "subsampling": 0, "progressive": True}),
    "lzw.tiff": (lambda i: i, {"compression": "tiff_lzw"}),
    "cmyk.tiff": (lambda i: i.convert("CMYK"), {}),
    "lab.tiff": (lambda i: to_lab(i), {}),
    "lossless.webp": (lambda i: i, {"lossless": True}),
    "webp-alpha.webp": (lambda i: cut_out(i), {"lossless": True, "exact": True}),
    "gif.gif": (lambda i: i, {}),
    "bmp.bmp": (lambda i: i, {}),
}


def cut_out(image: Image.Image) -> Image.Image:
    """The figure on transparency instead of paper."""
    pixels = np.dstack([np.asarray(image), np.where((np.asarray(image) == PAPER).all(-1), 0, 255).astype(np.uint8)])
    return Image.fromarray(pixels, "RGBA")


def to_lab(image: Image.Image) -> Image.Image:
    srgb, lab = ImageCms.createProfile("sRGB"), ImageCms.createProfile("LAB")
    done = ImageCms.profileToProfile(image, srgb, lab, outputMode="LAB")
    assert done is not None
    return done


@pytest.mark.parametrize("name", WAYS)
def test_every_format_reads_the_same(name: str, tmp_path: Path) -> None:
    change, options = WAYS[name]
    change(figure()).save(tmp_path / name, **options)
    drawing = read_drawing(tmp_path / name)
    limit = {"jpeg.jpg": 2.0, "progressive.jpg": 2.0, "lab.tiff": 2.0}.get(name, 0.5)
    assert same_colours(drawing, [SAND, RED, BLUE], limit)
    assert [len(c.areas) for c in drawing.palette] == [2, 1, 1]
    assert len(drawing.edges) == 3


def test_sixteen_bits_a_channel(tmp_path: Path) -> None:
    grey = np.full((120, 160), 65535, np.uint16)
    grey[20:100, 20:140] = 40_000
    grey[50:70, 20:140] = 9_000
    Image.fromarray(grey).save(tmp_path / "grey16.png")
    Image.fromarray(grey).save(tmp_path / "grey16.tiff")
    Image.fromarray((grey / 65535).astype(np.float32)).save(tmp_path / "float.tiff")
    expected = {f"#{round(v / 257):02x}" * 1 + f"{round(v / 257):02x}" * 2 for v in (40_000, 9_000)}
    for name in ("grey16.png", "grey16.tiff", "float.tiff"):
        assert {c.hex for c in read_drawing(tmp_path / name).palette} == expected, name


def test_flat_art_is_untouched_to_the_last_bit(tmp_path: Path) -> None:
    figure((900, 700)).save(tmp_path / "a.png")
    drawing = read_drawing(tmp_path / "a.png")
    assert drawing.kind == "flat"
    assert {tuple(c) for c in palette(drawing)} == {RED, BLUE, SAND}
    assert np.array_equal(load(tmp_path / "a.png").rgb, np.asarray(figure((900, 700))))


@pytest.mark.parametrize("turn", range(1, 9))
def test_orientation_of_the_camera_is_undone(turn: int, tmp_path: Path) -> None:
    turned = {
        2: Image.Transpose.FLIP_LEFT_RIGHT,
        3: Image.Transpose.ROTATE_180,
        4: Image.Transpose.FLIP_TOP_BOTTOM,
        5: Image.Transpose.TRANSPOSE,
        6: Image.Transpose.ROTATE_90,
        7: Image.Transpose.TRANSVERSE,
        8: Image.Transpose.ROTATE_270,
    }
    upright = figure()
    stored = upright.transpose(turned[turn]) if turn in turned else upright
    exif = Image.Exif()
    exif[0x0112] = turn
    stored.save(tmp_path / "a.png", exif=exif)
    upright.save(tmp_path / "b.png")
    one, two = read_drawing(tmp_path / "a.png"), read_drawing(tmp_path / "b.png")
    assert one.size == upright.size
    assert np.array_equal(one.labels, two.labels)


def display_p3() -> bytes:
    """A Display P3 profile made from sRGB's by its primaries (SMPTE EG 432-1 / DCI-P3, D65), adapted to D50.

    The colorants are those that the ICC prints for Display P3: (0.5151, 0.2412, -0.0011), (0.2919, 0.6922, 0.0419),
    (0.1572, 0.0666, 0.7841).
    """
    raw = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    count = int.from_bytes(raw[128:132], "big")
    tags = {
        bytes(raw[132 + 12 * i : 136 + 12 * i]): int.from_bytes(raw[136 + 12 * i : 140 + 12 * i], "big")
        for i in range(count)
    }
    colorants = {
        b"rXYZ": (0.5151, 0.2412, -0.0011),
        b"gXYZ": (0.2919, 0.6922, 0.0419),
        b"bXYZ": (0.1572, 0.0666, 0.7841),
    }
    for tag, values in colorants.items():
        for k, value in enumerate(values):
            at = tags[tag] + 8 + 4 * k
            raw[at : at + 4] = round(value * 65536).to_bytes(4, "big", signed=True)
    return bytes(raw).replace("sRGB".encode("utf-16-be"), "P3P3".encode("utf-16-be")).replace(b"sRGB", b"P3P3")


def test_display_p3_is_converted(tmp_path: Path) -> None:
    """A P3 red of (200, 60, 60) is a stronger red in sRGB; a neutral stays (colour-science's Display P3)."""
    import colour

    for name in ("p3.png", "p3.jpg"):
        pixels = np.full((200, 200, 3), 255, np.uint8)
        pixels[40:160, 40:160] = (200, 60, 60)
        Image.fromarray(pixels).save(tmp_path / name, icc_profile=display_p3(), quality=95)
        drawing = read_drawing(tmp_path / name)
        space = colour.RGB_COLOURSPACES["Display P3"]
        linear = space.cctf_decoding(np.array([200, 60, 60]) / 255)
        expected = 255 * colour.RGB_to_RGB(linear, space, "sRGB", apply_cctf_encoding=True)
        assert difference(palette(drawing), np.clip(expected, 0, 255)[None])[0, 0] < 1.0
        assert difference(palette(drawing), np.array([[200, 60, 60]]))[0, 0] > 2.0


def test_a_broken_profile_is_ignored(tmp_path: Path) -> None:
    figure().save(tmp_path / "a.png", icc_profile=b"no profile at all")
    assert same_colours(read_drawing(tmp_path / "a.png"), [SAND, RED, BLUE])


def test_first_frame_is_read_and_said(tmp_path: Path) -> None:
    other = Image.new("RGB", figure().size, (10, 200, 10))
    for name in ("a.gif", "a.png", "a.webp", "a.tiff"):
        options = {"lossless": True} if name.endswith("webp") else {}
        figure().save(tmp_path / name, save_all=True, append_images=[other], **options)
        drawing = read_drawing(tmp_path / name)
        assert same_colours(drawing, [SAND, RED, BLUE]), name
        assert any("2 pictures: the first was read" in note for note in drawing.notes), name


def test_large_pictures_are_worked_on_small_and_measured_large(tmp_path: Path) -> None:
    figure((3000, 2200)).save(tmp_path / "big.png")
    drawing = read_drawing(tmp_path / "big.png")
    assert drawing.size == (3000, 2200)
    assert drawing.labels.size <= 1.01 * WORKING_PIXELS
    body = sum(a.pixels for a in drawing.areas)
    assert body == pytest.approx(2000 * 1468, rel=0.005)
    belt = next(a for a in drawing.areas if a.hex == "#be2832")
    assert belt.wide_px == pytest.approx(275, abs=6)
    assert belt.narrow_px == pytest.approx(275, rel=0.08)
    assert belt.bbox == pytest.approx((500, 1100, 2500, 1375), abs=4)


def png_claiming(width: int, height: int) -> bytes:
    """A PNG of one pixel whose header claims another size."""
    buffer = io.BytesIO()
    Image.new("RGB", (1, 1)).save(buffer, "PNG")
    raw = bytearray(buffer.getvalue())
    raw[16:24] = width.to_bytes(4, "big") + height.to_bytes(4, "big")
    import zlib

    raw[29:33] = zlib.crc32(bytes(raw[12:29])).to_bytes(4, "big")
    return bytes(raw)


def saved(image: Image.Image, kind: str, **options: object) -> bytes:
    buffer = io.BytesIO()
    image.save(buffer, kind, **options)
    return buffer.getvalue()


NOISE = Image.fromarray(np.random.default_rng(5).integers(0, 256, (200, 300, 3), np.uint8))
BAD = {
    "empty.png": (b"", "empty"),
    "text.png": (b"dear diary, today I drew a newt", "not a picture"),
    "cut.png": (saved(NOISE, "PNG")[:5000], "damaged or cut short"),
    "cut.jpg": (saved(NOISE, "JPEG")[:3000], "damaged or cut short"),
    "cut.tiff": (saved(NOISE, "TIFF")[:4000], "damaged or cut short"),
    "header.png": (saved(NOISE, "PNG")[:20], "not a picture|damaged"),
    "vector.svg": (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "not a picture"),
    "bomb.png": (png_claiming(20_000, 15_000), "300 megapixels, over the limit of 100"),
    "dot.png": (saved(Image.new("RGB", (1, 1)), "PNG"), "too small"),
    "white.png": (saved(Image.new("RGB", (300, 200), "white"), "PNG"), "one colour"),
    "green.png": (saved(Image.new("RGB", (300, 200), (20, 120, 60)), "PNG"), "one colour"),
    "clear.png": (saved(Image.new("RGBA", (300, 200), (0, 0, 0, 0)), "PNG"), "one colour|transparent|no figure"),
    "noise.png": (saved(NOISE, "PNG"), "no areas of even colour"),
    "archive.ora": (b"PK\x03\x04 and then nothing", "broken"),
}


@pytest.mark.parametrize("name", BAD)
def test_bad_input_is_one_clear_line(name: str, tmp_path: Path) -> None:
    raw, said = BAD[name]
    (tmp_path / name).write_bytes(raw)
    with pytest.raises(InputError, match=said) as caught:
        read_drawing(tmp_path / name)
    assert "\n" not in str(caught.value) and caught.value.cure and name in str(caught.value)


def test_a_long_thin_bar_is_told_that_it_is_too_narrow(tmp_path: Path) -> None:
    """20 x 7800 px are 0.2 mm on a figure 80 mm high; told as 160 mm high, the bar is wide enough."""
    bar = Image.new("RGB", (60, 8000), "white")
    bar.paste((190, 40, 50), (20, 100, 40, 7900))
    bar.save(tmp_path / "bar.png")
    with pytest.raises(InputError, match=r"wider than its lines and than 0\.3 mm") as caught:
        read_drawing(tmp_path / "bar.png")
    assert "photograph" not in str(caught.value)
    assert len(read_drawing(tmp_path / "bar.png", height_mm=160, lines="none").areas) == 1


def test_no_file_a_folder_no_permission(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no such file"):
        read_drawing(tmp_path / "absent.png")
    with pytest.raises(InputError, match="a folder"):
        read_drawing(tmp_path)
    with pytest.raises(InputError, match=r"cannot be read|no such file"):
        read_drawing(Path("nul\0byte.png"))


def test_the_limit_can_be_raised(tmp_path: Path) -> None:
    figure((400, 300)).save(tmp_path / "a.png")
    with pytest.raises(InputError, match="--max-megapixels 1"):
        read_drawing(tmp_path / "a.png", max_megapixels=0.1)
    limit = Image.MAX_IMAGE_PIXELS
    assert read_drawing(tmp_path / "a.png", max_megapixels=1).areas
    assert limit == Image.MAX_IMAGE_PIXELS


def test_names_with_spaces_and_other_letters(tmp_path: Path) -> None:
    path = tmp_path / "molch mit hut äöü 画.png"
    figure().save(path)
    assert read_drawing(path).source == path.name


@pytest.mark.parametrize(
    "options",
    [{"colours": 0}, {"colours": 65}, {"lines": "dark"}, {"height_mm": 0.0}, {"height_mm": float("nan")}],
)
def test_options_are_checked(options: dict[str, object], tmp_path: Path) -> None:
    figure().save(tmp_path / "a.png")
    with pytest.raises(InputError):
        read_drawing(tmp_path / "a.png", **options)


def test_text_chunk_bombs_are_harmless(tmp_path: Path) -> None:
    info = PngImagePlugin.PngInfo()
    info.add_text("comment", "x" * 60_000_000, zip=True)
    figure().save(tmp_path / "a.png", pnginfo=info)
    try:
        assert read_drawing(tmp_path / "a.png").areas
    except InputError as error:
        assert "damaged" in str(error)

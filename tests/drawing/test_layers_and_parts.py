"""OpenRaster layers, parts maps, pieces apart and pieces alike."""

import io
import zipfile
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw

from finishplan.basics.errors import InputError
from finishplan.drawing import read_drawing
from finishplan.drawing.parts import letter_name

RED, GREEN, GOLD = (190, 40, 50), (60, 130, 80), (226, 168, 41)
W, H = 320, 240


def layer(draw: str, box: tuple[int, int, int, int], colour: tuple[int, ...]) -> Image.Image:
    image = Image.new("RGBA", (W, H))
    getattr(ImageDraw.Draw(image), draw)(box, fill=colour)
    return image


def ora(layers: list[tuple[str, Image.Image, str]], size: tuple[int, int] = (W, H)) -> bytes:
    """An OpenRaster file; each layer (name, picture, further attributes), topmost first."""
    buffer, rows = io.BytesIO(), []
    with zipfile.ZipFile(buffer, "w") as archive:
        archive.writestr("mimetype", "image/openraster")
        for number, (name, image, more) in enumerate(layers):
            png = io.BytesIO()
            image.save(png, "PNG")
            archive.writestr(f"data/{number}.png", png.getvalue())
            rows.append(f'<layer name="{name}" src="data/{number}.png" {more}/>')
        stack = f'<image w="{size[0]}" h="{size[1]}"><stack>{"".join(rows)}</stack></image>'
        archive.writestr("stack.xml", stack)
    return buffer.getvalue()


def whole() -> list[tuple[str, Image.Image, str]]:
    lines = Image.new("RGBA", (W, H))
    ImageDraw.Draw(lines).rectangle((40, 40, 200, 180), outline=(20, 20, 30, 255), width=5)
    return [
        ("Ink", lines, ""),
        ("lantern", layer("ellipse", (180, 60, 280, 160), GOLD), ""),
        ("body", layer("rectangle", (40, 40, 200, 180), GREEN), ""),
        ("hidden", layer("rectangle", (0, 0, 319, 239), RED), 'visibility="hidden"'),
        ("paper", Image.new("RGBA", (W, H), (240, 238, 230, 255)), ""),
    ]


def test_layers_are_parts(tmp_path: Path) -> None:
    (tmp_path / "newt.ora").write_bytes(ora(whole()))
    drawing = read_drawing(tmp_path / "newt.ora")
    assert sorted(p.name for p in drawing.parts) == ["body", "lantern"]
    assert sorted(c.hex for c in drawing.palette) == ["#3c8250", "#e2a829"]
    assert drawing.ink == "#14141e"
    assert drawing.edges == ()
    lantern = next(p for p in drawing.parts if p.name == "lantern")
    assert lantern.pixels == pytest.approx(np.pi * 50.5**2, rel=0.03)


def test_groups_offsets_and_opacity(tmp_path: Path) -> None:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        archive.writestr("mimetype", "image/openraster")
        for name, colour in (("a", RED), ("b", GREEN)):
            png = io.BytesIO()
            Image.new("RGB", (60, 60), colour).save(png, "PNG")
            archive.writestr(f"data/{name}.png", png.getvalue())
        archive.writestr(
            "stack.xml",
            f'<image w="{W}" h="{H}"><stack><stack name="head">'
            '<layer src="data/a.png" x="20" y="30"/><layer src="data/b.png" x="80" y="30" opacity="0.9"/>'
            '</stack><layer name="boot" src="data/b.png" x="200" y="100" composite-op="svg:multiply"/></stack></image>',
        )
    (tmp_path / "a.ora").write_bytes(buffer.getvalue())
    drawing = read_drawing(tmp_path / "a.ora")
    assert [p.name for p in drawing.parts] == ["head", "boot"]
    assert drawing.parts[0].bbox == (20, 30, 140, 90)
    assert len(drawing.edges) == 1
    assert any("svg:multiply" in note for note in drawing.notes)


BOMB = '<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b "bbbbbbbbbb">]><image w="9" h="9">&b;</image>'


def broken(**files: bytes | str) -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        for name, text in files.items():
            archive.writestr(name.replace("_", "."), text)
    return buffer.getvalue()


LAYER = '<image w="300" h="200"><stack><layer src="{}"/></stack></image>'
BAD = {
    "no stack": broken(readme="hello"),
    "not xml": broken(stack_xml="<image"),
    "entities": broken(stack_xml=BOMB),
    "no size": broken(stack_xml="<image><stack/></image>"),
    "size in words": broken(stack_xml='<image w="wide" h="9"/>'),
    "too large": broken(stack_xml='<image w="30000" h="30000"/>'),
    "no layer": broken(stack_xml='<image w="300" h="200"/>'),
    "leads outside": broken(stack_xml=LAYER.format("../../etc/passwd")),
    "absent layer": broken(stack_xml=LAYER.format("data/1.png")),
    "layer no picture": broken(**{"stack_xml": LAYER.format("layer"), "layer": b"not a png"}),
    "cut short": ora(whole())[:-200],
    "all clear": ora([("a", Image.new("RGBA", (W, H)), "")]),
    "only ink": ora([("ink", layer("rectangle", (9, 9, 99, 99), RED), "")]),
}


@pytest.mark.parametrize("name", BAD)
def test_broken_openraster(name: str, tmp_path: Path) -> None:
    (tmp_path / "a.ora").write_bytes(BAD[name])
    with pytest.raises(InputError) as caught:
        read_drawing(tmp_path / "a.ora")
    assert caught.value.cure and "\n" not in str(caught.value)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.ora"]


def pieces() -> Image.Image:
    """A hand, its mirror image, a boot of the same size in another colour, and a ball."""
    image = Image.new("RGB", (700, 300), "white")
    pen = ImageDraw.Draw(image)
    hand = [(0, 0), (60, 20), (90, 90), (40, 120), (10, 70)]
    pen.polygon([(40 + x, 60 + y) for x, y in hand], fill=GREEN)
    pen.polygon([(290 - x, 60 + y) for x, y in hand], fill=GREEN)
    pen.polygon([(360 + x, 60 + y) for x, y in hand], fill=RED)
    pen.ellipse((540, 60, 640, 160), fill=GOLD)
    return image


def test_pieces_apart_are_parts_and_alike_ones_are_counted(tmp_path: Path) -> None:
    pieces().save(tmp_path / "a.png")
    parts = read_drawing(tmp_path / "a.png").parts
    assert [p.name for p in parts] == ["part A", "part B", "part C", "part D"]
    assert [(p.twin_of, p.mirrored) for p in parts] == [(None, False), (0, True), (None, False), (None, False)]


def test_a_parts_map_names_the_parts_by_its_colours(tmp_path: Path) -> None:
    drawn = Image.new("RGB", (400, 300), "white")
    pen = ImageDraw.Draw(drawn)
    pen.rectangle((50, 50, 350, 250), fill=GREEN)
    pen.rectangle((150, 100, 200, 150), fill=RED)
    drawn.save(tmp_path / "a.png")
    parts_map = Image.new("RGBA", (200, 150))
    pen = ImageDraw.Draw(parts_map)
    pen.rectangle((20, 20, 99, 130), fill=(255, 0, 0, 255))
    pen.rectangle((100, 20, 180, 130), fill=(0, 0, 255, 255))
    parts_map.save(tmp_path / "map.png")
    whole, split = (read_drawing(tmp_path / "a.png", parts_map=m) for m in (None, tmp_path / "map.png"))
    assert [len(p.areas) for p in whole.parts] == [2]
    assert [len(p.areas) for p in split.parts] == [2, 1]
    assert split.areas[0].bbox[2] == pytest.approx(200, abs=2)
    assert len(split.edges) == 1

    Image.new("RGB", (100, 300)).save(tmp_path / "narrow.png")
    with pytest.raises(InputError, match="same size"):
        read_drawing(tmp_path / "a.png", parts_map=tmp_path / "narrow.png")
    Image.new("RGB", (400, 300), "white").save(tmp_path / "blank.png")
    with pytest.raises(InputError, match="no part is coloured in"):
        read_drawing(tmp_path / "a.png", parts_map=tmp_path / "blank.png")


BODY, HEAD, STONE = (80, 140, 220, 270), (110, 50, 190, 140), (280, 180, 370, 270)
BLACK = (0, 0, 0)


def trio(folder: Path) -> Path:
    """A head on a body, and a stone apart, each of one colour, drawn with black lines 2 px wide; 400 x 300."""
    image = Image.new("RGB", (400, 300), "white")
    pen = ImageDraw.Draw(image)
    for box, colour in ((BODY, GREEN), (HEAD, RED), (STONE, GOLD)):
        pen.rectangle(box, fill=colour, outline=BLACK, width=2)
    image.save(folder / "a.png")
    return folder / "a.png"


def filled(*fills: tuple[tuple[int, int, int, int], object], ground: str = "white", width: int = 0) -> Image.Image:
    image = Image.new("RGB", (400, 300), ground)
    for box, colour in fills:
        ImageDraw.Draw(image).rectangle(box, fill=colour, outline=BLACK if width else None, width=width)
    return image


PLAIN = ((BODY, "#00ff00"), (HEAD, "#ff0000"), (STONE, "#0000ff"))
WIDE = (((0, 0, 240, 140), "#ff0000"), ((0, 141, 240, 299), "#00ff00"), ((246, 100, 399, 299), "#0000ff"))
NO_GROUND = (((0, 0, 399, 140), "#ff0000"), ((0, 141, 240, 299), "#00ff00"), ((241, 141, 399, 299), "#0000ff"))
MAPS = {
    "the parts alone": filled(*PLAIN),
    "on grey": filled(*PLAIN, ground="#808080"),
    "to the rim, most of it one part's": filled(*WIDE),
    "no background left": filled(*NO_GROUND),
    "filled in over the lines": filled(*PLAIN, width=2),
    "a large part left white": filled(*PLAIN[1:]),
    "a legend beside": filled(*PLAIN, ((300, 60, 350, 90), "#00ffff")),
}


@pytest.mark.parametrize("name", MAPS)
@pytest.mark.parametrize("kind", ["png", "jpg"])
def test_however_a_parts_map_is_filled_in_its_parts_are_read(name: str, kind: str, tmp_path: Path) -> None:
    MAPS[name].save(tmp_path / f"map.{kind}", quality=75)
    drawing = read_drawing(trio(tmp_path), parts_map=tmp_path / f"map.{kind}")
    held = {frozenset(drawing.areas[i - 1].hex for i in p.areas) for p in drawing.parts}
    assert held == {frozenset([f"#{r:02x}{g:02x}{b:02x}"]) for r, g, b in (RED, GREEN, GOLD)}
    assert [p.name for p in drawing.parts] == ["part A", "part B", "part C"]


def test_what_a_parts_map_leaves_out_is_told(tmp_path: Path) -> None:
    """A colour off the figure or on a speck of it makes no part; a body on the background goes to the nearest part."""
    MAPS["a legend beside"].save(tmp_path / "map.png")
    notes = read_drawing(trio(tmp_path), parts_map=tmp_path / "map.png").notes
    assert [n for n in notes if "parts map" in n] == [
        "colours of the parts map that hold no area of the figure, so no part: #00ffff"
    ]
    filled(*PLAIN[:2]).save(tmp_path / "map.png")
    drawing = read_drawing(tmp_path / "a.png", parts_map=tmp_path / "map.png")
    share = 87 * 87 / (87 * 87 + 77 * 87 + 137 * 127)  # inside the lines
    assert [n for n in drawing.notes if "parts map" in n] == [
        f"{share:.0%} of the figure lies on the parts map's background #ffffff: given to the nearest part"
    ]
    assert len(drawing.parts) == 2


def test_parts_maps_that_show_no_parts_are_refused(tmp_path: Path) -> None:
    drawn = trio(tmp_path)
    row, column = np.indices((300, 400))
    patches = np.stack([row // 20 * 15, column // 40 * 25, np.full_like(row, 60)], -1).astype(np.uint8)
    bad = {
        "one colour": filled(ground="black"),
        "beside the figure": filled(((10, 10, 60, 40), "red")),
        "colours, more than": Image.fromarray(patches),
    }
    said = ("no part is coloured in", "none of its colours lies on the figure", "colours, more than any figure has")
    for (name, picture), words in zip(bad.items(), said, strict=True):
        picture.save(tmp_path / f"{name}.png")
        with pytest.raises(InputError, match=words) as caught:
            read_drawing(drawn, parts_map=tmp_path / f"{name}.png")
        assert f"{name}.png" in str(caught.value) and caught.value.cure
    with pytest.raises(InputError, match="the drawing itself"):
        read_drawing(drawn, parts_map=drawn)


def test_a_layer_of_specks_is_no_part(tmp_path: Path) -> None:
    dust = layer("rectangle", (100, 100, 101, 101), RED)
    (tmp_path / "a.ora").write_bytes(ora([("dust", dust, ""), *whole()[1:3]]))
    drawing = read_drawing(tmp_path / "a.ora")
    assert sorted(p.name for p in drawing.parts) == ["body", "lantern"]
    assert "layers that hold no area of the figure, so no part: dust" in drawing.notes


def test_names_go_on_after_z() -> None:
    assert [letter_name(i) for i in (0, 25, 26, 51, 52, 701, 702)] == [
        "part A", "part Z", "part AA", "part AZ", "part BA", "part ZZ", "part AAA",
    ]  # fmt: skip

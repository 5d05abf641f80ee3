"""OpenRaster files that are hostile or odd: refused in one line, or read as what they show."""

import io
import zipfile
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw

from finishplan.basics.errors import InputError
from finishplan.drawing import read_drawing
from finishplan.drawing.openraster import load_openraster

W, H = 320, 240


def png(size: tuple[int, int] = (W, H), colour: str = "#3c8250") -> bytes:
    image, out = Image.new("RGBA", size), io.BytesIO()
    ImageDraw.Draw(image).rectangle((size[0] // 8, size[1] // 6, size[0] // 2, size[1] // 2), fill=colour)
    image.save(out, "PNG")
    return out.getvalue()


def written(path: Path, stack: str | bytes, picture: bytes | None = None) -> Path:
    """An OpenRaster file of this stack.xml; its one picture is a.png."""
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("mimetype", "image/openraster")
        archive.writestr("stack.xml", stack)
        archive.writestr("a.png", png() if picture is None else picture)
    return path


def image(inner: str, size: tuple[int, int] = (W, H)) -> str:
    return f'<image w="{size[0]}" h="{size[1]}"><stack>{inner}</stack></image>'


LAYER = '<layer name="body" src="a.png"/>'
ENTITIES = '<!DOCTYPE image [<!ENTITY a "body"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>'
HOSTILE: dict[str, tuple[str | bytes, str]] = {
    "entities": (ENTITIES + image(LAYER.replace("body", "&b;")), "not a plain list of layers"),
    "entities in UTF-16": (
        (f'<?xml version="1.0" encoding="UTF-16"?>{ENTITIES}' + image(LAYER.replace("body", "&b;"))).encode("utf-16"),
        "not a plain list of layers",
    ),
    "a document type alone": ("<!DOCTYPE image>" + image(LAYER), "not a plain list of layers"),
    "a long name": (image(LAYER.replace("body", "b" * 100_000)), "the name of layer 1 has 100000 letters; rename it"),
    "many groups": (image("<stack/>" * 40_000), "not a plain list of layers"),
    "many layers": (image(LAYER * 201), "merge some of them"),
    "many side by side": (image(LAYER * 65), "merge some of them"),
    "deep groups": (image("<stack>" * 900 + "</stack>" * 900, (9000, 9000)), "not a plain list of layers"),
    "endless text": (image(LAYER + " " * 1_000_001), "its stack.xml is too long"),
    "not XML": ("<image", "its stack.xml cannot be read"),
    "another encoding that is none": ('<?xml version="1.0" encoding="nonsense"?>' + image(LAYER), "cannot be read"),
    "no number": (image(LAYER.replace("/>", ' x="wide"/>')), "'x' that is not a whole number"),
    "5,000 digits": (image(LAYER.replace("/>", f' x="{"9" * 5000}"/>')), "'x' that is not a whole number"),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_refused_in_one_line(name: str, tmp_path: Path) -> None:
    stack, said = HOSTILE[name]
    with pytest.raises(InputError, match=said) as refused:
        read_drawing(written(tmp_path / "a.ora", stack))
    assert "a.ora: " in str(refused.value) and len(str(refused.value)) < 400


@pytest.mark.parametrize("place", [2**31 - 1, -(2**31), 10**30, W, -W])
def test_a_layer_that_lies_outside_shows_nothing(place: int, tmp_path: Path) -> None:
    outside = f'<layer name="gone" src="a.png" x="{place}" y="{place}"/>'
    drawing = read_drawing(written(tmp_path / "a.ora", image(outside + LAYER)))
    assert [p.name for p in drawing.parts] == ["body"]
    with pytest.raises(InputError, match="every layer is transparent"):
        read_drawing(written(tmp_path / "b.ora", image(outside)))


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16", "iso-8859-1"])
def test_a_plain_list_is_read_in_any_encoding(encoding: str, tmp_path: Path) -> None:
    stack = f'<?xml version="1.0" encoding="{encoding}"?>' + image(LAYER.replace("body", " Möwe&#10; 1"))
    drawing = read_drawing(written(tmp_path / "a.ora", stack.encode(encoding)))
    assert [p.name for p in drawing.parts] == ["Möwe 1"]


def test_pixels_of_all_layers_have_a_limit(tmp_path: Path) -> None:
    """Of 0.077 megapixels each, ten times the 0.1 allowed: thirteen are read, fourteen are not."""
    for count in (13, 14):
        path = written(tmp_path / f"{count}.ora", image(LAYER * count))
        with path.open("rb") as stream:
            if count == 13:
                assert load_openraster(stream, path, 0.1).layers
            else:
                with pytest.raises(InputError, match=r"over 10 times 0\.1 megapixels together"):
                    load_openraster(stream, path, 0.1)


@pytest.mark.parametrize("at", [(0, 0), (37, -20), (-50, 91)])
@pytest.mark.parametrize("size", [(W, H), (2000, 1500)])
def test_a_layer_lies_where_it_is_told(at: tuple[int, int], size: tuple[int, int], tmp_path: Path) -> None:
    """Against the layer pasted into a canvas of full size; also where the working copy is smaller."""
    path = written(tmp_path / "a.ora", image(LAYER.replace("/>", f' x="{at[0]}" y="{at[1]}"/>'), size), png(size))
    with path.open("rb") as stream:
        loaded = load_openraster(stream, path, 100)
    canvas = Image.new("RGBA", size)
    canvas.paste(Image.open(io.BytesIO(png(size))), at)
    expected = np.asarray(canvas.resize(loaded.image.size, Image.Resampling.NEAREST))[:, :, 3] >= 128
    (_, mask) = loaded.layers[0]
    assert mask.shape == expected.shape and (mask != expected).sum() <= sum(mask.shape)  # a half pixel at the rim

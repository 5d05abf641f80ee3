"""What can be wrong with a drawing: one line with the cure, exit code 2, nothing half made."""

import os
import struct
import zipfile
import zlib
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from refusals import drawing, tell


def plain(colour: str, size: tuple[int, int] = (200, 200)) -> Callable[[Path], None]:
    return lambda path: Image.new("RGB", size, colour).save(path)


def cut_short(path: Path) -> None:
    path.write_bytes(drawing(path).read_bytes()[: path.stat().st_size // 2])


def noise(width: int, height: int) -> Callable[[Path], None]:
    values = np.random.default_rng(0).integers(0, 256, (height, width, 3), dtype=np.uint8)
    return lambda path: Image.fromarray(values).save(path)


def bomb(path: Path) -> None:
    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    header = chunk(b"IHDR", struct.pack(">IIBBBBB", 20000, 15000, 8, 2, 0, 0, 0))
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + header + chunk(b"IDAT", zlib.compress(bytes(999))) + chunk(b"IEND", b""))


def climbing_ora(path: Path) -> None:
    """An OpenRaster file whose layer lies outside it."""
    with zipfile.ZipFile(path, "w") as ora:
        ora.writestr("mimetype", "image/openraster")
        ora.writestr("stack.xml", '<image w="9" h="9"><stack><layer name="a" src="../../etc/passwd"/></stack></image>')


PICTURES: dict[str, tuple[str, Callable[[Path], object], str]] = {
    "no such file": ("a.png", lambda path: None, "no such file"),
    "zero bytes": ("a.png", lambda path: path.write_bytes(b""), "empty"),
    "not an image": ("a.png", lambda path: path.write_text("a letter"), "not a picture"),
    "truncated PNG": ("a.png", cut_short, "cut short"),
    "truncated JPEG": ("a.jpg", cut_short, "cut short"),
    "1 x 1": ("a.png", plain("#123456", (1, 1)), "too small"),
    "all white": ("a.png", plain("#ffffff"), "one colour"),
    "all one colour": ("a.png", plain("#c03020"), "one colour"),
    "noise only": ("a.png", noise(300, 300), "no areas of even colour"),
    "noise only, smaller": ("a.png", noise(240, 240), "no areas of even colour"),
    "noise only, larger": ("a.png", noise(800, 600), "no areas of even colour"),
    "300 megapixels": ("a.png", bomb, "--max-megapixels"),
    "a folder": ("a.png", lambda path: path.mkdir(), "folder"),
    "broken OpenRaster": ("a.ora", lambda path: path.write_bytes(b"PK\3\4junk"), "broken"),
    "OpenRaster that climbs out": ("a.ora", climbing_ora, ".ora"),
}


@pytest.mark.parametrize("name", PICTURES)
def test_a_picture_that_cannot_be_read(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file, make, said = PICTURES[name]
    make(tmp_path / file)
    message = tell(capsys, "plan", tmp_path / file, "--out", tmp_path / "out", "--quiet")
    assert said in message and file in message
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("folder", [".", "/", ".."])
@pytest.mark.parametrize("command", ["plan", "areas", "run"])
def test_a_folder_by_its_short_name(command: str, folder: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert "this is a folder, not a drawing" in tell(capsys, command, folder)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs named pipes")
@pytest.mark.parametrize("what", ["drawing", "job", "box", "table", "parts map", "mesh", "device"])
def test_a_pipe_or_a_device_is_not_waited_for(what: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    seen, pipe = drawing(tmp_path / "a.png"), tmp_path / "pipe"
    os.mkfifo(pipe)
    os.mkfifo(tmp_path / "pipe.toml")
    os.mkfifo(tmp_path / "pipe.stl")
    (tmp_path / "mesh.toml").write_text('[figure]\ndrawing = "a.png"\n[parts."part A"]\nmesh = "pipe.stl"\n')
    given: dict[str, tuple[str | Path, ...]] = {
        "drawing": (pipe,),
        "job": (tmp_path / "pipe.toml",),
        "box": (seen, "--paints", pipe),
        "table": (seen, "--table", pipe),
        "parts map": (seen, "--parts-map", pipe),
        "mesh": (tmp_path / "mesh.toml",),
        "device": ("/dev/zero",),
    }
    said = tell(capsys, "plan", *given[what], "--out", tmp_path / "out", "--quiet")
    assert "is a pipe or a device, not a file; save it as a file" in said
    assert not (tmp_path / "out").exists()

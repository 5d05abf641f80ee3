"""Decoding a PNG while the program is still being loaded: the name is known long before the reading can begin."""

import sys
import warnings
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from PIL.Image import Image

MOST_MEGAPIXELS = 50
"""Larger ones are left to the reading, which alone knows what Pillow is to make of them."""
_HEAD = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR"
"""How a PNG begins; its width and height follow (PNG, W3C 2003, 5.2 and 11.2.2)."""
SWITCH_S = 0.0005
"""A thread that decodes asks for Python's lock between any two blocks of the file; the usual wait for it is 0.005 s."""
_USUAL_S = sys.getswitchinterval()
_begun: dict[tuple[int, ...], "Future[Image]"] = {}
"""One at most, by the state of its file."""


def decode_ahead(path: Path, max_megapixels: float = MOST_MEGAPIXELS) -> None:
    """Begin to decode the PNG at `path` in a thread; nothing is begun, or said, where it is none or too large."""
    _begun.clear()
    with suppress(OSError, ValueError):
        if path.is_file() and _pixels(path) <= 1e6 * min(max_megapixels, MOST_MEGAPIXELS):
            executor, state = ThreadPoolExecutor(1), _state(path)
            _begun[state] = executor.submit(_decoded, path)
            executor.shutdown(wait=False)


def decoded_ahead(path: Path) -> "Image | None":
    """The picture that was begun ahead, once; None where none was, the file has changed or is damaged."""
    with suppress(Exception):  # whatever is wrong with it is told by whoever decodes it then
        return _begun.pop(_state(path)).result()
    return None


def forget() -> None:
    """Let go of a picture that nobody took."""
    _begun.clear()


def _pixels(path: Path) -> int:
    """Of the PNG. Raises ValueError where it is none."""
    with path.open("rb") as stream:
        head = stream.read(len(_HEAD) + 8)
    if not head.startswith(_HEAD):
        raise ValueError
    width, height = (int.from_bytes(head[k : k + 4], "big") for k in (len(_HEAD), len(_HEAD) + 4))
    return width * height


def _state(path: Path) -> tuple[int, ...]:
    here = path.stat()
    return here.st_dev, here.st_ino, here.st_size, here.st_mtime_ns


def _decoded(path: Path) -> "Image":
    from PIL import Image

    warnings.filterwarnings("ignore", module=r"PIL\.")  # of this thread and others: nothing of Pillow's is for makers
    sys.setswitchinterval(SWITCH_S)
    try:
        with path.open("rb") as stream:
            image = Image.open(stream, formats=("PNG",))
            image.load()
    finally:
        sys.setswitchinterval(_USUAL_S)
    return image

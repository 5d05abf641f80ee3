"""Reading drawings beside Pillow decoding and quantising them by median cut, in one process: times and peak memory.

    python tests/benchmarks/bench_reading.py [megapixels ...]

Targets at 12 megapixels: flat PNG at most 0.5 of Pillow's time, scan or photograph at most 1.0; 300 MB over the start.
Imports are not counted. Processor seconds, since a shared machine makes the clock unfair; each figure is the best
of several runs, the two sides taken in turn.
"""

import subprocess
import sys
import tempfile
import time
import warnings
from collections.abc import Callable
from pathlib import Path

import numpy as np
from PIL import Image

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
warnings.filterwarnings("ignore")

RUNS = 5
KINDS = {"flat": "png", "scan": "png", "photo": "jpg"}


def picture(kind: str, megapixels: float, folder: Path) -> Path:
    """A generated drawing brought up to size, degraded there as real scanners and cameras do: noise by the pixel."""
    from drawing.generator import draw

    size = (round((megapixels * 4e6 / 3) ** 0.5), round((megapixels * 3e6 / 4) ** 0.5))
    image = draw(4, (1000, 750)).picture.resize(size, Image.Resampling.BICUBIC)
    path = folder / f"{kind}{megapixels:g}.{KINDS[kind]}"
    if kind != "flat":
        noise = np.random.default_rng(1).normal(scale=3, size=(size[1], size[0], 1)).astype(np.float32)
        light = np.linspace(1, 0.85 if kind == "photo" else 1, size[0], dtype=np.float32)[None, :, None]
        paper = np.array([0.97, 0.95, 0.9], np.float32)
        noisy = np.asarray(image) * light * paper + noise
        image = Image.fromarray(np.clip(noisy, 0, 255).astype(np.uint8))
    image.save(path, quality=90)
    return path


def pillow(path: Path) -> None:
    """Decode and quantise by median cut to 32 colours."""
    with Image.open(path) as image:
        image.convert("RGB").quantize(32, Image.Quantize.MEDIANCUT)


def seconds(run: Callable[[Path], object], path: Path) -> float:
    start = time.process_time()
    run(path)
    return time.process_time() - start


def memory(path: Path) -> float:
    """MB by which a reading raises the peak of a fresh process whose imports are done."""
    code = f"""
from pathlib import Path
from finishplan.drawing import read_drawing
def peak():
    lines = Path("/proc/self/status").read_text().splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith("VmHWM")) / 1024
read_drawing(Path({str(path.parent / "tiny.png")!r}))
before = peak()
read_drawing(Path({str(path)!r}))
print(peak() - before)
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return float(done.stdout)


def main() -> None:
    from drawing.generator import draw

    from finishplan.drawing import read_drawing

    sizes = [float(v) for v in sys.argv[1:]] or [1, 4, 12, 48]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        draw(4, (200, 150)).picture.save(folder / "tiny.png")
        read_drawing(folder / "tiny.png")
        print("megapixels kind   pillow s  reading s  ratio  peak MB")
        for megapixels in sizes:
            for kind in KINDS:
                path = picture(kind, megapixels, folder)
                ours, theirs = [], []
                for _ in range(RUNS):
                    theirs.append(seconds(pillow, path))
                    ours.append(seconds(read_drawing, path))
                a, b = min(ours), min(theirs)
                print(f"{megapixels:10g} {kind:6s} {b:8.3f} {a:10.3f} {a / b:6.2f} {memory(path):8.0f}", flush=True)


if __name__ == "__main__":
    main()

"""How long the sheets take: a plan of some thirty pages, and the largest.

    python tests/benchmarks/bench_sheets.py

Target: thirty pages in under 3 s. Processor seconds, since a shared machine makes the clock unfair.
"""

import sys
import time
import tracemalloc
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from small_plans import Size, make_plan

from finishplan.sheets.book import pdf_bytes
from finishplan.sheets.pictures import numbered_drawing

SIZES = {
    "some 30 pages": Size(8, 56, 16, 12, sessions=False),
    "60 areas, 20 mixes, 200 castings": Size(6, 60, 20, 200, 2, long_names=True),
}


def main() -> None:
    """Print pages, bytes, seconds (best of three, the first with fonts to load) and peak memory."""
    import pypdfium2 as pdfium

    for name, size in SIZES.items():
        plan = make_plan(0, size)
        times = []
        for _ in range(3):
            start = time.process_time()
            data = pdf_bytes(plan)
            times.append(time.process_time() - start)
        tracemalloc.start()
        pdf_bytes(plan)
        peak = tracemalloc.get_traced_memory()[1] / 1e6
        tracemalloc.stop()
        pages = len(pdfium.PdfDocument(data))
        shown = f"{pages} pages, {len(data) / 1e3:.0f} kB, first {times[0]:.2f} s, best {min(times):.2f} s"
        print(f"{name}: {shown}, {1000 * min(times) / pages:.0f} ms a page, peak {peak:.0f} MB")
    start = time.process_time()
    numbered_drawing(plan.drawing)
    print(f"numbered drawing, 2000 px, 60 areas: {time.process_time() - start:.2f} s")


if __name__ == "__main__":
    main()

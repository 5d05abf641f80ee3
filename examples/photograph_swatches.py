"""A swatch card of the starter box, painted with tubes that differ from the table's, photographed and read.

`python examples/photograph_swatches.py` writes swatch-card.jpg, measured-paints.toml and measured-paints.png here. The
photograph is simulated (tests/photo/simulated.py: a published camera's sensitivities, CIE D55, a hand that paints a
tenth off): it shows what to expect, not what a real phone did.
"""

import sys
from pathlib import Path

import cv2
import numpy as np

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE.parent), str(HERE.parent / "tests" / "photo")]

import simulated  # noqa: E402

from finishplan.paint.box import load_box  # noqa: E402
from finishplan.photo.box_file import learned_box_text  # noqa: E402
from finishplan.photo.card import card_pages  # noqa: E402
from finishplan.photo.read import learn_box, read_photo  # noqa: E402
from finishplan.sheets.swatch_card import seen_picture  # noqa: E402

PHOTO = HERE / "swatch-card.jpg"
BOX = HERE / "measured-paints.toml"


def main() -> None:
    box, rng = load_box(), np.random.default_rng(21)
    page, mine = card_pages(box)[0], simulated.tubes(tuple(p.id for p in box.paints), rng)
    seen = simulated.photo_of(page, mine, rng, lamp="D55", size=(1500, 2000))
    bgr = np.ascontiguousarray(seen[:, :, ::-1])
    cv2.putText(bgr, "simulated photograph", (30, bgr.shape[0] - 20), cv2.FONT_HERSHEY_SIMPLEX, 0.9, (230, 230, 230), 2)
    PHOTO.write_bytes(cv2.imencode(".jpg", bgr, [cv2.IMWRITE_JPEG_QUALITY, 85])[1].tobytes())
    learned = learn_box([read_photo(PHOTO, [page])], box)
    BOX.write_text(learned_box_text(learned, box, "2026-11-30"), encoding="utf-8")
    BOX.with_suffix(".png").write_bytes(seen_picture(learned))


if __name__ == "__main__":
    main()

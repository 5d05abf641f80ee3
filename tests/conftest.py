"""What tests of several rooms share."""

import os
from collections.abc import Iterator

import pytest

# One worker a core already: threads of the linear algebra would only wait for each other, at twice the processor time.
for _library in ("OPENBLAS", "OMP", "MKL"):
    os.environ.setdefault(f"{_library}_NUM_THREADS", "1")

from finishplan.run import solve  # noqa: E402


@pytest.fixture(scope="module")
def short_search() -> Iterator[None]:
    """Runs are searched with a thirtieth of the steps: for tests that do not ask how good a run is."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(solve, "STEPS_PER_S", solve.STEPS_PER_S / 30)
        yield

"""What tests of several rooms share."""

from collections.abc import Iterator

import pytest

from finishplan.run import solve


@pytest.fixture(scope="module")
def short_search() -> Iterator[None]:
    """Runs are searched with a thirtieth of the steps: for tests that do not ask how good a run is."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(solve, "STEPS_PER_S", solve.STEPS_PER_S / 30)
        yield

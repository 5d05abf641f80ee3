"""What lies beside a drawing or a job: found where it may be looked at, and told."""

from pathlib import Path
from typing import Any

import pytest

from finishplan.cli.sources import sources_of
from finishplan.plan.inputs import find_sources


def test_in_a_folder_that_may_not_be_entered_the_file_asked_for_stays_the_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    locked, seen = tmp_path / "locked", Path.stat

    def refused(self: Path, **how: Any) -> Any:
        if locked in self.parents:
            raise PermissionError(13, "Permission denied", str(self))
        return seen(self, **how)

    monkeypatch.setattr(Path, "stat", refused)
    assert find_sources(locked / "a.png", locked / "a-plan").drawing == locked / "a.png"


def test_the_mix_book_that_lies_there_is_told(tmp_path: Path) -> None:
    """Beside the drawing, or in the folder above the job; not where the maker names it."""
    folder = tmp_path / "imp-plan"
    folder.mkdir()
    (folder / "job.toml").write_text('[figure]\ndrawing = "a.png"\n')
    (tmp_path / "mixes.toml").write_text("")
    for source in (folder / "job.toml", tmp_path / "a.png"):
        found = sources_of(source, None, {})
        assert found.book == tmp_path / "mixes.toml" and f"{found.book} lies there and is used" in found.said[-1]
    assert not sources_of(folder / "job.toml", None, {"book": tmp_path / "mixes.toml"}).said

"""What tests of kept sheets and kept tables share."""

from __future__ import annotations

from pathlib import Path

import pytest

from film_files import write_film
from samelight.drift.computed import derived
from samelight.sequence import disk, references


@pytest.fixture(autouse=True)
def _everything_is_computed(monkeypatch: pytest.MonkeyPatch) -> None:
    """What was kept or mended is held against what is computed anew."""
    monkeypatch.setattr(references, "derived_rows", derived.derived_rows)


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "cache"
    monkeypatch.setattr(disk, "cache_folder", lambda: folder)
    return folder


@pytest.fixture
def film(tmp_path: Path) -> Path:
    return write_film(tmp_path / "film")

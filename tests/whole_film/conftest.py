"""What tests of kept sheets and kept tables share."""

from __future__ import annotations

from pathlib import Path

import pytest

from film_files import write_film
from samelight.sequence import disk


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "cache"
    monkeypatch.setattr(disk, "cache_folder", lambda: folder)
    return folder


@pytest.fixture
def film(tmp_path: Path) -> Path:
    return write_film(tmp_path / "film")

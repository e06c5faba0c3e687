"""Findings are drawn from a sequence in which nothing is decided yet."""

from __future__ import annotations

from pathlib import Path

import pytest


@pytest.fixture
def harbour(undecided_harbour: Path) -> Path:
    """A copy of the sample sequence without its decisions."""
    return undecided_harbour

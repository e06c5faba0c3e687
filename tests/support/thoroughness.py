"""How many examples a property is tried with, by the profile of the run."""

from __future__ import annotations

from hypothesis import settings

HYPOTHESIS_OWN = 100
"""Examples of a property that names no number, in a thorough run."""


def examples(thorough: int) -> int:
    """Of so many examples in a thorough run as large a part as of hypothesis' own number."""
    return max(1, thorough * settings().max_examples // HYPOTHESIS_OWN)

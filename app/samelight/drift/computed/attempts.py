"""Parts of the computed rows, of which one that fails takes none of the others along."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TypeVar

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class NotComputed:
    """What could not be worked out, which is a mistake of the program, and the error."""

    what: str
    error: Exception


@dataclass(slots=True)
class Attempts:
    """Makes one part after another, and collects what failed."""

    failed: list[NotComputed] = field(default_factory=list)

    def make(self, what: str, part: Callable[[], T]) -> T | None:
        """A part; None where it fails."""
        try:
            return part()
        except Exception as error:  # noqa: BLE001 - the other parts are told
            self.failed.append(NotComputed(what, error))
            return None

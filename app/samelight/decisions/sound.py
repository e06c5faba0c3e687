"""A ledger in which nothing is at fault, with all that came of its entries: known again without a look into any of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from samelight.decisions.entries import LedgerEntry
from samelight.decisions.on_cell import OnCell
from samelight.drift.cells import CellName


@dataclass(frozen=True, slots=True)
class SoundLedger:
    """Entries that all hold a decision of its own, each whole and with all that it names, by the names of their files.

    `latest` are the ids of those that no other names, and `old` is the last by its id of those that name none. None of this
    changes.
    """

    entries: Mapping[str, LedgerEntry]
    latest: tuple[str, ...]
    old: str
    cells: Mapping[CellName, OnCell]
    receipt: str

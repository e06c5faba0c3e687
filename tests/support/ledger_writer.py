"""What a process of its own does to a ledger, in tests of several at once."""

from __future__ import annotations

from pathlib import Path

from samelight.decisions.decision import Verb
from samelight.decisions.ledger import Subject, open_ledger
from samelight.sheets.values import Level


def write_many(folder: Path, who: str, count: int) -> None:
    """Decide `count` times, half of the time on a cell that others decide on as well, and look in between."""
    ledger = open_ledger(folder)
    for index in range(count):
        parameter = "shared" if index % 2 else f"{who}.{index}"
        ledger.decide(Verb.INTEND, [Subject("A", parameter, Level(1.0), Level(2.0))], who, f"reason {index}")
        ledger.refresh()
        assert not ledger.faults

"""Undo and redo over the ledger: nothing is ever erased, an undo is a withdrawal."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from samelight.decisions.decision import Decision
from samelight.decisions.ledger import Ledger


@dataclass(slots=True)
class History:
    """What was done in this window, newest last, and what was undone of it."""

    ledger: Ledger
    done: list[list[Decision]] = field(default_factory=list)
    undone: list[list[Decision]] = field(default_factory=list)
    _first: dict[str, Sequence[Decision]] = field(default_factory=dict)
    """What was first said, by the first id of what took it back or said it again."""

    def did(self, decisions: Sequence[Decision]) -> None:
        """Remember decisions made in one go; what was undone before them can no longer be redone."""
        if decisions:
            self.done.append(list(decisions))
            self.undone.clear()

    def undo(self, who: str) -> list[Decision]:
        """Withdraw the latest; the withdrawals, or an empty list when there is nothing to undo."""
        if not self.done:
            return []
        withdrawals = self.ledger.take_back(self.done[-1], who, "undone")
        self._first[withdrawals[0].id] = self.next_undo()
        self.done.pop()
        self.undone.append(withdrawals)
        return withdrawals

    def redo(self, who: str) -> list[Decision]:
        """Withdraw the latest undo; the withdrawals, or an empty list when there is nothing to redo."""
        if not self.undone:
            return []
        withdrawals = self.ledger.take_back(self.undone[-1], who, "redone")
        self._first[withdrawals[0].id] = self.next_redo()
        self.undone.pop()
        self.done.append(withdrawals)
        return withdrawals

    def forget(self, decisions: Sequence[Decision]) -> None:
        """Drop what could not be written after all."""
        lost = {decision.id for decision in decisions}
        for acts in (self.done, self.undone):
            acts[:] = [act for act in acts if lost.isdisjoint(decision.id for decision in act)]

    def next_undo(self) -> Sequence[Decision]:
        """What `undo` would take back, as it was first said."""
        return self._as_first_said(self.done)

    def next_redo(self) -> Sequence[Decision]:
        """What `redo` would make hold again, as it was first said."""
        return self._as_first_said(self.undone)

    def _as_first_said(self, acts: Sequence[Sequence[Decision]]) -> Sequence[Decision]:
        return self._first.get(acts[-1][0].id, acts[-1]) if acts else ()

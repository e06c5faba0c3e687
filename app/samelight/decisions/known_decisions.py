"""What is known of a ledger: the decisions in its folder, by cell, and what of them cannot be relied on."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from operator import attrgetter
from pathlib import Path

from samelight.decisions.chain import Chain, breaks, lacking, unfinished
from samelight.decisions.decision import Decision
from samelight.decisions.entries import LedgerEntry, receipt_of
from samelight.decisions.folder import Folder, News
from samelight.decisions.state import UNDECIDED, Judgement, judge, kept, notes
from samelight.drift.cells import CellName
from samelight.sheets.errors import Fault
from samelight.sheets.values import Bound

_NAMED = 4

_id = attrgetter("id")


@dataclass(slots=True)
class KnownDecisions:
    """The decisions of a sequence as its folder has them, by cell. `faults` names what cannot be relied on, which stays where
    it is: files that were skipped, batches of which some are not there, entries that are missing or were altered since others
    saw them. `unlisted` says why the folder itself cannot be looked at; it is the first of `faults`, and what is known stands.

    `revision` grows whenever the decisions do, or change otherwise. All but `look` is for one thread.
    """

    folder: Path
    faults: tuple[Fault, ...] = ()
    unlisted: Fault | None = None
    revision: int = 0
    files: Folder = field(init=False)
    _entries: dict[str, LedgerEntry] = field(default_factory=dict)
    _news: deque[News] = field(default_factory=deque)
    _vanished: dict[str, str] = field(default_factory=dict)
    _skipped: tuple[Fault, ...] = ()
    _chain: Chain = field(default_factory=Chain)
    _by_id: dict[str, Decision] = field(default_factory=dict)
    _by_cell: dict[CellName, tuple[Decision, ...]] = field(default_factory=dict)
    _receipt: tuple[int, str] = (-1, "")

    def __post_init__(self) -> None:
        self.files = Folder(self.folder)

    def refresh(self) -> bool:
        """Read the files that are new or changed since the last time, forget those that are gone; whether any were.

        What is gone is named from then on. When the folder itself cannot be read, or the sequence's own folder is not
        there, what is known stands and `faults` says so.
        """
        self.look()
        return self.take_in()

    def look(self, *, thoroughly: bool = True, touched: Iterable[str] = ()) -> bool:
        """Look at the folder as `Folder.look` does, in any thread; whether there is something to `take_in`."""
        before = self.files.fault
        found = self.files.look(thoroughly=thoroughly, touched=frozenset(touched))
        if found.came or found.gone:
            self._news.append(found)
        return bool(found.came or found.gone) or self.files.fault != before

    def take_in(self) -> bool:
        """Make what was found in looking the ledger's own; whether there was anything."""
        changed = False
        while self._news:
            found = self._news.popleft()
            changed = self._take(found.came, found.gone) or changed
        fault = self.unlisted = self.files.fault
        self.faults = (fault, *self._skipped) if fault is not None else self._skipped
        return changed

    def _take(self, came: Mapping[str, LedgerEntry], gone: Iterable[str]) -> bool:
        """Know these entries; what is simply some decisions more is put in its place, without a look at the others."""
        known = self._entries
        new = {
            name: entry for name, entry in came.items() if name not in known or not _same(known[name], entry)
        }
        left = [name for name in gone if name in self._entries]
        for name in left:
            decision = self._entries.pop(name).decision
            if decision is not None:
                self._vanished[name] = decision.id
        for name in new:
            self._vanished.pop(name, None)
        made = [entry.decision for entry in new.values() if entry.decision is not None]
        ids = {decision.id for decision in made}
        simple = (
            len(ids) == len(new)
            and ids.isdisjoint(self._by_id)
            and new.keys().isdisjoint(self._entries)
            and not (left or self._skipped or lacking(new.values()))
        )
        self._entries.update(came)
        if not new and not left:
            return False
        self.revision += 1
        if simple and self._chain.add(list(new.values())):
            self._by_id.update((decision.id, decision) for decision in made)
            for cell, decisions in _by_cell(made).items():
                self._by_cell[cell] = tuple(sorted((*self._by_cell.get(cell, ()), *decisions), key=_id))
        else:
            self._index()
        return True

    def _index(self) -> None:
        """Put the decisions of all files in order; of two that claim one id, the file named after it is believed."""
        files = sorted(self._entries.items())
        faults = [fault for _, entry in files for fault in entry.faults]
        incomplete, unfinished_faults = unfinished(self._entries, self.folder)
        self._by_id, self._chain = {}, Chain()
        stand = [
            (name, entry, entry.decision)
            for name, entry in sorted(files, key=_own_name_first)
            if entry.decision is not None
            and (entry.decision.of is None or entry.decision.batch not in incomplete)
        ]
        # Later entries do not name what nobody may ever complete, so that it can be removed.
        self._chain.add([entry for _, entry, _ in stand])
        counted = []
        for name, _, decision in stand:
            known = self._by_id.setdefault(decision.id, decision)
            if known is decision:
                counted.append(known)
            elif known != decision:
                said = f"another decision with the id {known.id}"
                faults.append(Fault(str(self.folder / name), "id", "an id of its own", said))
        self._by_cell = {
            cell: tuple(sorted(decisions, key=_id)) for cell, decisions in _by_cell(counted).items()
        }
        self._skipped = (*faults, *unfinished_faults, *breaks(self._entries, self.folder))

    def troubles(self) -> list[str]:
        """What keeps the decisions from being known whole, a sentence each; empty where all were read."""
        said = [f"Decisions cannot be read: {self.unlisted}"] if self.unlisted is not None else []
        said += [f"Decision skipped: {fault}" for fault in self.faults if fault is not self.unlisted]
        gone = self.gone
        if gone:
            more = f" and {len(gone) - _NAMED} more" if len(gone) > _NAMED else ""
            first = ", ".join(gone[:_NAMED])
            said.append(f"Decisions have gone from {self.folder}, which only ever grows: {first}{more}")
        return said

    @property
    def gone(self) -> list[str]:
        """The ids of decisions that were known here, and whose files have gone since."""
        return sorted(self._vanished.values())

    def remarks(self) -> list[str]:
        """What is worth saying of the folder, and keeps nothing from being known."""
        left = self.files.leftovers
        if not left:
            return []
        return [
            f"{len(left)} left behind in {self.folder} by a writer who was stopped, which the next decision removes: {left[0]}"
        ]

    @property
    def receipt(self) -> str:
        """One short digest of all the decisions that stand, as `receipt_of` makes it."""
        if self._receipt[0] != self.revision:
            stand = (
                e for e in self._entries.values() if e.decision is not None and e.decision.id in self._by_id
            )
            self._receipt = self.revision, receipt_of(stand)
        return self._receipt[1]

    def known(self) -> dict[str, LedgerEntry]:
        """Every entry on disk that holds a decision and nothing at fault, by the name of its file."""
        return {
            name: entry
            for name, entry in self._entries.items()
            if entry.decision is not None and not entry.faults and any(entry.stamp)
        }

    def all(self) -> list[Decision]:
        """Every decision, in order of id (of time, as far as clocks agree)."""
        return sorted(self._by_id.values(), key=_id)

    def of_cell(self, shot: str, parameter: str) -> list[Decision]:
        """The decisions on one cell, in order of id."""
        return list(self._by_cell.get((shot, parameter), ()))

    def by_cell(self) -> Mapping[CellName, Sequence[Decision]]:
        """The decisions on every such cell, in order of id. What it gives for a cell never changes."""
        return self._by_cell

    def kept(self) -> list[Decision]:
        """Every decision and note that nobody has taken back, in order of id."""
        return sorted((one for decisions in self._by_cell.values() for one in kept(decisions)), key=_id)

    def notes(self, shot: str) -> list[Decision]:
        """The notes on a shot and on its parameters that nobody has taken back, in order of id."""
        of_shot = (decisions for (of, _), decisions in self._by_cell.items() if of == shot)
        return sorted((note for decisions in of_shot for note in notes(decisions)), key=_id)

    def judgement(
        self,
        shot: str,
        parameter: str,
        value: Bound | None,
        master: Bound | None,
        master_version: int | None = None,
    ) -> Judgement:
        """The state of a cell with these values, which come from that master version."""
        decisions = self._by_cell.get((shot, parameter))
        return judge(value, master, decisions, master_version) if decisions else UNDECIDED


def _same(known: LedgerEntry, entry: LedgerEntry) -> bool:
    """Whether nothing is told by an entry but when its file was written."""
    return known.digest == entry.digest and known.decision == entry.decision and known.faults == entry.faults


def _by_cell(decisions: Iterable[Decision]) -> dict[CellName, list[Decision]]:
    found: dict[tuple[str, str], list[Decision]] = {}
    for decision in decisions:
        found.setdefault((decision.shot, decision.parameter), []).append(decision)
    return found


def _own_name_first(named: tuple[str, LedgerEntry]) -> tuple[bool, str]:
    name, entry = named
    return entry.decision is None or name != f"{entry.decision.id}.yaml", name

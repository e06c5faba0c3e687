"""What is known of a ledger: the decisions in its folder, by cell, and what of them cannot be relied on."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from operator import attrgetter
from pathlib import Path

from samelight.decisions.chain import Chain, breaks, lacking, unfinished
from samelight.decisions.decision import Decision
from samelight.decisions.entries import LedgerEntry, receipt_of
from samelight.decisions.folder import Folder, News
from samelight.decisions.on_cell import OnCell
from samelight.decisions.sound import SoundLedger
from samelight.decisions.state import UNDECIDED, Judgement, judge, kept, notes
from samelight.drift.cells import CellName
from samelight.sheets.errors import Fault
from samelight.sheets.values import Bound

_NAMED = 4
_NONE = OnCell(())

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
    _by_id: dict[str, LedgerEntry] = field(default_factory=dict)
    _by_cell: dict[CellName, OnCell] = field(default_factory=dict)
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
        is_news = bool(found.came or found.gone or found.again)
        if is_news:
            self._news.append(found)
        return is_news or self.files.fault != before

    def take_in(self) -> bool:
        """Make what was found in looking the ledger's own; whether there was anything."""
        changed = False
        while self._news:
            found = self._news.popleft()
            if found.again is not None:
                self._take_again(found.again)
                changed = True
            changed = self._take(found.came, found.gone) or changed
        fault = self.unlisted = self.files.fault
        self.faults = (fault, *self._skipped) if fault is not None else self._skipped
        return changed

    def _take_again(self, sound: SoundLedger) -> None:
        """Know what was known on another day."""
        self.revision += 1
        self._entries = dict(sound.entries)
        self._by_id = {entry.id: entry for entry in sound.entries.values()}
        self._by_cell = dict(sound.cells)
        self._chain = Chain.of_sound(sound.entries.values(), sound.latest, sound.old)
        self._receipt = self.revision, sound.receipt

    def sound(self) -> SoundLedger | None:
        """What is known, where nothing is at fault in it and every file of it is on disk; None otherwise."""
        entries = dict(self._entries)
        is_sound = not self.faults and not self._vanished and len(self._by_id) == len(entries)
        if not is_sound or not all(entry.id and any(entry.stamp) for entry in entries.values()):
            return None
        cells = dict(self._by_cell)
        return SoundLedger(entries, self._chain.latest, self._chain.old, cells, self.receipt)

    def _take(self, came: Mapping[str, LedgerEntry], gone: Iterable[str]) -> bool:
        """Know these entries; what is simply some decisions more is put in its place, without a look at the others."""
        known = self._entries
        new = {
            name: entry for name, entry in came.items() if name not in known or not _same(known[name], entry)
        }
        left = [name for name in gone if name in self._entries]
        for name in left:
            id_ = self._entries.pop(name).id
            if id_:
                self._vanished[name] = id_
        for name in new:
            self._vanished.pop(name, None)
        made = [entry for entry in new.values() if entry.id]
        ids = {entry.id for entry in made}
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
            self._by_id.update((entry.id, entry) for entry in made)
            for cell, entries in _by_cell(made).items():
                self._by_cell[cell] = self._by_cell.get(cell, _NONE).with_more(entries)
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
        for name, entry, decision in stand:
            known = self._by_id.setdefault(decision.id, entry)
            if known is entry:
                counted.append(known)
            elif known.decision != decision:
                said = f"another decision with the id {known.id}"
                faults.append(Fault(str(self.folder / name), "id", "an id of its own", said))
        self._by_cell = {cell: _NONE.with_more(entries) for cell, entries in _by_cell(counted).items()}
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
            stand = (entry for entry in self._entries.values() if entry.id in self._by_id)
            self._receipt = self.revision, receipt_of(stand)
        return self._receipt[1]

    def known(self) -> dict[str, LedgerEntry]:
        """Every entry on disk that holds a decision and nothing at fault, by the name of its file."""
        return {
            name: entry
            for name, entry in self._entries.items()
            if entry.id and not entry.faults and any(entry.stamp)
        }

    def all(self) -> list[Decision]:
        """Every decision, in order of id (of time, as far as clocks agree)."""
        return [entry.made() for entry in sorted(self._by_id.values(), key=_id)]

    def of_cell(self, shot: str, parameter: str) -> list[Decision]:
        """The decisions on one cell, in order of id."""
        return list(self._by_cell.get((shot, parameter), ()))

    def by_cell(self) -> Mapping[CellName, OnCell]:
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
        *,
        until: datetime | None = None,
    ) -> Judgement:
        """The state of a cell with these values, which come from that master version; by all decisions, or those of `until` then."""
        decisions = self._by_cell.get((shot, parameter))
        if not decisions:
            return UNDECIDED
        known = decisions.judged_by()
        return judge(
            value, master, [one for one in known if until is None or one.when <= until], master_version
        )


def _same(known: LedgerEntry, entry: LedgerEntry) -> bool:
    """Whether nothing is told by an entry but when its file was written."""
    return known.digest == entry.digest and known.decision == entry.decision and known.faults == entry.faults


def _by_cell(entries: Iterable[LedgerEntry]) -> dict[CellName, list[LedgerEntry]]:
    found: dict[CellName, list[LedgerEntry]] = {}
    for entry in entries:
        decision = entry.made()
        found.setdefault((decision.shot, decision.parameter), []).append(entry)
    return found


def _own_name_first(named: tuple[str, LedgerEntry]) -> tuple[bool, str]:
    name, entry = named
    return name != f"{entry.id}.yaml", name

"""What holds a ledger together: each entry names the latest that its maker had seen, and a batch says how many it has.

So an entry that is missing or was altered is told by name, wherever the files were copied to.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from samelight.decisions.decision import Decision
from samelight.decisions.entries import LedgerEntry
from samelight.drift.cells import CellName
from samelight.sheets.errors import Fault


@dataclass(slots=True)
class Chain:
    """The entries by id, and the latest of them: those that no other entry names.

    Entries of before there were such names count as one line, whose latest is `old`, the last by its id.
    """

    _digests: dict[str, str] = field(default_factory=dict)
    _heads: set[str] = field(default_factory=set)
    _seen: set[str] = field(default_factory=set)
    old: str = ""

    @classmethod
    def of_sound(cls, entries: Iterable[LedgerEntry], heads: Iterable[str], old: str) -> Chain:
        """The chain of entries all of which are there as the others name them, and of which `heads` are the latest."""
        # Who comes later and is named by one of them would be among them.
        return cls({entry.id: entry.digest for entry in entries}, set(heads), set(), old)

    def add(self, entries: Collection[LedgerEntry]) -> bool:
        """Know more entries; whether all that these name is there as they name it."""
        names: set[str] = set()
        for entry in entries:
            decision = entry.decision
            if decision is None:
                continue
            self._digests[decision.id] = entry.digest
            if decision.saw is None:
                self._put_old(decision.id)
            else:
                self._heads.add(decision.id)
                names.update(decision.saw)
        digests, whole = self._digests, True
        for name in names:
            id_, _, digest = name.rpartition(":")
            self._seen.add(id_)
            whole = whole and digests.get(id_) == digest
        self._heads -= self._seen
        return whole

    def _put_old(self, id_: str) -> None:
        if id_ >= self.old:
            self._heads.discard(self.old)
            self.old = id_
            self._heads.add(id_)

    @property
    def latest(self) -> tuple[str, ...]:
        """The ids of the latest entries, in order."""
        return tuple(sorted(self._heads))

    def heads(self) -> tuple[str, ...]:
        """The latest entries, as a new one names them, in order."""
        return tuple(sorted(f"{id_}:{self._digests[id_]}" for id_ in self._heads))


def names_in(decision: Decision | None) -> list[CellName]:
    """The ids that a decision's maker had seen, each with the digest of its file."""
    if decision is None or not decision.saw:
        return []
    return [name.rpartition(":")[::2] for name in decision.saw]


def lacking(entries: Iterable[LedgerEntry]) -> dict[str, int]:
    """The batches that are not complete in these entries, and how many decisions are there of each."""
    there: dict[str, set[str]] = {}
    wanted: dict[str, int] = {}
    for entry in entries:
        decision = entry.decision
        if decision is None or (of := decision.of) is None:
            continue
        batch = decision.batch
        ids = there.get(batch)
        if ids is None:
            ids = there[batch] = set()
            wanted[batch] = of
        elif of > wanted[batch]:
            wanted[batch] = of
        ids.add(decision.id)
    return {batch: len(ids) for batch, ids in there.items() if len(ids) < wanted[batch]}


def unfinished(entries: Mapping[str, LedgerEntry], folder: Path) -> tuple[set[str], list[Fault]]:
    """The batches of which not every decision is there, so that none of them stands, and that in words."""
    batches = lacking(entries.values())
    faults: dict[str, Fault] = {}
    for name, entry in sorted(entries.items()) if batches else ():
        decision = entry.decision
        if decision is not None and decision.of is not None and decision.batch in batches:
            wanted = f"all {decision.of} decisions of one act of {decision.who}, which stand together"
            why = "whoever wrote them was stopped, or is not through"
            found = f"{batches[decision.batch]}: {why}; each of their files says batch: {decision.batch}"
            faults.setdefault(decision.batch, Fault(str(folder / name), "of", wanted, found))
    return set(batches), list(faults.values())


def breaks(entries: Mapping[str, LedgerEntry], folder: Path) -> list[Fault]:
    """Where the ledger is not what its writers saw: entries that are missing, and those that were altered since."""
    there: dict[str, list[LedgerEntry]] = {}
    for entry in entries.values():
        if entry.decision is not None:
            there.setdefault(entry.decision.id, []).append(entry)
    found: dict[str, Fault] = {}
    for _, entry in sorted(entries.items()):
        for id_, digest in names_in(entry.decision):
            known = there.get(id_)
            by = f"{entry.decision.who} had seen it, in {entry.decision.id}" if entry.decision else ""
            if known is None:
                own = entries.get(f"{id_}.yaml")
                if own is None or own.decision is not None:  # or what is wrong with that file is told already
                    wanted = f"the decision {id_} ({by})"
                    there_is = "nothing there" if own is None else "another decision there"
                    found.setdefault(id_, Fault(str(folder / f"{id_}.yaml"), "", wanted, there_is))
            elif all(one.digest != digest for one in known):
                wanted = f"the decision {id_} with the digest {digest} ({by})"
                altered = f"another text, with the digest {known[0].digest}"
                found.setdefault(id_, Fault(str(folder / known[0].name), "", wanted, altered))
    return [found[id_] for id_ in sorted(found)]

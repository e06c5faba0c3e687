"""The decisions of a sequence kept from one day to the next, so that only new ones are read.

One file a sequence beside its kept sheets, under the same conditions: it may be deleted at any time, and what is damaged
or was of anything else counts as nothing. The ledger's own files stay what counts. Each decision is a line of its own, of
which a decision is made when somebody asks for it; where nothing was at fault in the ledger, what came of all of them
stands there too.
"""

from __future__ import annotations

import json
import time
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from itertools import repeat
from operator import is_
from typing import Any

from samelight.decisions.decision import NOT_GRABBED, Decision, Grabbed, Verb
from samelight.decisions.entries import LedgerEntry
from samelight.decisions.on_cell import OnCell
from samelight.decisions.sound import SoundLedger
from samelight.sequence.disk import DAMAGE, Disk
from samelight.sheets.stamps import SAME_MOMENT, Stamp
from samelight.sheets.values import decoded_bound, encoded

FEWEST = 200
"""Decisions. Fewer are read about as fast as what was kept of them."""

_ENDING = "decisions"

_TO_BE_READ: Stamp = (0, 0, 0, 0)
"""The stamp of no file."""

_decode = json.JSONDecoder().raw_decode
"""What `json.loads` asks in the end; its own questions take as long again for a line of this size."""
_VERBS = {str(verb): verb for verb in Verb}


@dataclass(frozen=True, slots=True)
class KeptDecisions:
    """The entries that were kept, by the names of their files, and the ledger of all of them where it was sound."""

    entries: Mapping[str, LedgerEntry] = field(default_factory=dict)
    sound: SoundLedger | None = None


def load_decisions(disk: Disk) -> KeptDecisions:
    """What was kept. Whoever takes an entry sees to it that the file has its stamp."""
    try:
        head, *lines = disk.read(_ENDING).decode("ascii").split("\n")
        data = json.loads(head)
        if data["head"] != disk.head:
            return KeptDecisions()
        entries = _entries(data, lines)
        by_name = {entry.name: entry for entry in entries}
        return KeptDecisions(by_name, _sound(data["sound"], entries, by_name))
    except DAMAGE:
        return KeptDecisions()


def _entries(data: Mapping[str, Any], lines: list[str]) -> list[LedgerEntry]:
    settled = int(data["written"]) - SAME_MOMENT
    ids, stamps = data["ids"], list(zip(*data["stamps"], strict=True))
    if max(data["stamps"][0], default=0) >= settled:
        stamps = [stamp if stamp[0] < settled else _TO_BE_READ for stamp in stamps]
    names = [f"{id_}.yaml" for id_ in ids]
    for place, name in data["names"]:
        names[place] = name
    if not len(lines) == len(ids) == len(stamps) == len(data["digests"]):
        raise ValueError("as many lines as entries")
    shelf = repeat(_Shelf(dict(zip(ids, lines, strict=True))))
    return list(map(LedgerEntry, names, stamps, data["digests"], ids, shelf))


def _sound(
    data: Any, entries: Sequence[LedgerEntry], by_name: Mapping[str, LedgerEntry]
) -> SoundLedger | None:
    if data is None:
        return None
    at = entries.__getitem__
    cells = {
        (shot, parameter): OnCell(map(at, held), map(at, stand))
        for shot, parameter, held, stand in data["cells"]
    }
    return SoundLedger(by_name, tuple(data["latest"]), data["old"], cells, data["receipt"])


def worth_keeping(known: Mapping[str, LedgerEntry], kept: Mapping[str, LedgerEntry]) -> bool:
    """Whether so many of the entries that are known are none of those `kept` that it is worth the writing."""
    if len(known) < FEWEST:
        return False
    news = len(known) - sum(map(is_, map(kept.get, known), known.values()))
    return news >= max(FEWEST // 4, len(known) // 20)


def save_decisions(disk: Disk, known: Mapping[str, LedgerEntry], sound: SoundLedger | None) -> None:
    """Keep the entries that are known, and the ledger of all of them where it is `sound`."""
    entries = list((known if sound is None else sound.entries).values())
    data = {
        "head": disk.head,
        "written": time.time_ns(),
        "ids": [entry.id for entry in entries],
        "names": [(n, entry.name) for n, entry in enumerate(entries) if entry.name != f"{entry.id}.yaml"],
        "stamps": list(zip(*(entry.stamp for entry in entries), strict=True)),
        "digests": [entry.digest for entry in entries],
        "sound": None if sound is None else _as_data(sound, entries),
    }
    disk.write(_ENDING, "\n".join([json.dumps(data), *map(_line_of, entries)]).encode("ascii"))


def _as_data(sound: SoundLedger, entries: Sequence[LedgerEntry]) -> dict[str, Any]:
    places = {entry.id: place for place, entry in enumerate(entries)}

    def placed(found: Iterable[LedgerEntry]) -> list[int]:
        return [places[entry.id] for entry in found]

    cells = [(*cell, placed(held.entries), placed(held.stand())) for cell, held in sound.cells.items()]
    return {"latest": sound.latest, "old": sound.old, "cells": cells, "receipt": sound.receipt}


def _line_of(entry: LedgerEntry) -> str:
    shelf = entry.held
    return shelf.lines[entry.id] if isinstance(shelf, _Shelf) else line_of(entry.made())


def line_of(decision: Decision) -> str:
    """A decision but for its id as a line of JSON, for `decision_of`."""
    said = (
        str(decision.verb),
        decision.shot,
        decision.parameter,
        encoded(decision.value),
        encoded(decision.master),
        decision.reason,
        decision.who,
        decision.when.isoformat(),
        decision.follows,
        decision.withdraws,
        decision.batch,
        decision.until,
        decision.of,
        decision.saw,
        decision.version,
        decision.seen.frame,
        decision.seen.picture,
    )
    return json.dumps(said)


def decision_of(id_: str, line: str) -> Decision:
    """The decision that `line_of` made this of."""
    (
        verb,
        shot,
        parameter,
        value,
        master,
        reason,
        who,
        when,
        follows,
        withdraws,
        batch,
        until,
        of,
        saw,
        version,
        frame,
        picture,
    ) = _decode(line)[0]
    return Decision(
        id_,
        _VERBS[verb],
        shot,
        parameter,
        _value(value),
        _value(master),
        reason,
        who,
        datetime.fromisoformat(when),
        tuple(follows),
        withdraws,
        batch,
        until,
        of,
        None if saw is None else tuple(saw),
        version,
        Grabbed(frame, picture) if picture or frame is not None else NOT_GRABBED,
    )


def _value(data: Any) -> Any:
    return data if type(data) is float else decoded_bound(data)


class _Shelf:
    """Decisions by their ids as lines, each of which becomes a decision once. To call it gives one."""

    __slots__ = ("lines", "made")

    def __init__(self, lines: Mapping[str, str]) -> None:
        self.lines = lines
        self.made: dict[str, Decision] = {}

    def __call__(self, id_: str) -> Decision:
        made = self.made.get(id_)
        if made is None:
            made = self.made[id_] = decision_of(id_, self.lines[id_])
        return made

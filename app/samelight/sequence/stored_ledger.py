"""The decisions of a sequence kept from one day to the next, so that only new ones are read.

One file a sequence beside its kept sheets, under the same conditions: it may be deleted at any time, and what is damaged
or was of anything else counts as nothing. The ledger's own files stay what counts. Decisions are kept by columns, and what
many of them say stands there once.
"""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any

from samelight.decisions.decision import Decision, Verb
from samelight.decisions.entries import LedgerEntry
from samelight.sequence.disk import DAMAGE, Disk
from samelight.sheets.stamps import SAME_MOMENT
from samelight.sheets.values import decoded_bound, encoded

FEWEST = 200
"""Decisions. Fewer are read about as fast as what was kept of them."""

_ENDING = "decisions"

Columns = dict[str, Any]
"""JSON data by the name of a field: one item a decision, or a pair of the items there are and which each has."""


def load_decisions(disk: Disk) -> dict[str, LedgerEntry]:
    """The entries that were kept, by the names of their files. Whoever takes one sees to it that the file has its stamp."""
    try:
        data = json.loads(disk.read(_ENDING))
        if data["head"] != disk.head:
            return {}
        settled = int(data["written"]) - SAME_MOMENT
        decisions = decisions_of(data["decisions"])
        names = [name or f"{one.id}.yaml" for name, one in zip(data["names"], decisions, strict=True)]
        stamps = zip(*data["stamps"], strict=True)
        entries = map(LedgerEntry, names, stamps, data["digests"], decisions)
        return {entry.name: entry for entry in entries if entry.stamp[0] < settled}
    except DAMAGE:
        return {}


def worth_keeping(known: Mapping[str, LedgerEntry], kept: Mapping[str, LedgerEntry]) -> bool:
    """Whether so many of the entries that are known are none of those `kept` that it is worth the writing."""
    if len(known) < FEWEST:
        return False
    news = sum(kept.get(name) is not entry for name, entry in known.items())
    return news >= max(FEWEST // 4, len(known) // 20)


def save_decisions(disk: Disk, known: Mapping[str, LedgerEntry]) -> None:
    """Keep decisions."""
    rows = [(name, entry, entry.decision) for name, entry in known.items() if entry.decision is not None]
    data = {
        "head": disk.head,
        "written": time.time_ns(),
        "names": ["" if name == f"{one.id}.yaml" else name for name, _, one in rows],
        "stamps": list(zip(*(entry.stamp for _, entry, _ in rows), strict=True)),
        "digests": [entry.digest for _, entry, _ in rows],
        "decisions": columns_of([one for _, _, one in rows]),
    }
    disk.write(_ENDING, json.dumps(data).encode())


def columns_of(decisions: Sequence[Decision]) -> Columns:
    """Decisions as JSON data, for `decisions_of`."""
    return {
        "id": [one.id for one in decisions],
        "verb": _pooled(str(one.verb) for one in decisions),
        "shot": _pooled(one.shot for one in decisions),
        "parameter": _pooled(one.parameter for one in decisions),
        "value": _pooled(encoded(one.value) for one in decisions),
        "master": _pooled(encoded(one.master) for one in decisions),
        "reason": _pooled(one.reason for one in decisions),
        "who": _pooled(one.who for one in decisions),
        "when": _pooled(one.when.isoformat() for one in decisions),
        "follows": [one.follows for one in decisions],
        "withdraws": [one.withdraws for one in decisions],
        "batch": _pooled(one.batch for one in decisions),
        "until": [one.until for one in decisions],
        "of": [one.of for one in decisions],
        "saw": [one.saw for one in decisions],
    }


def decisions_of(columns: Columns) -> list[Decision]:
    """The decisions that `columns_of` made these of."""
    return list(
        map(
            Decision,
            columns["id"],
            _spread(columns["verb"], Verb),
            _spread(columns["shot"]),
            _spread(columns["parameter"]),
            _spread(columns["value"], _value),
            _spread(columns["master"], _value),
            _spread(columns["reason"]),
            _spread(columns["who"]),
            _spread(columns["when"], datetime.fromisoformat),
            map(tuple, columns["follows"]),
            columns["withdraws"],
            _spread(columns["batch"]),
            columns["until"],
            columns["of"],
            [None if saw is None else tuple(saw) for saw in columns["saw"]],
        )
    )


def _pooled(items: Iterable[Any]) -> tuple[list[Any], list[int]]:
    """The items that there are, as JSON tells them apart, and the place among them of each."""
    pool: dict[Any, int] = {}
    keys = (item if type(item) is str else (json.dumps(item),) for item in items)
    places = [pool.setdefault(key, len(pool)) for key in keys]
    return [key if type(key) is str else json.loads(key[0]) for key in pool], places


def _spread(pooled: Sequence[Any], made: Callable[[Any], Any] | None = None) -> Iterable[Any]:
    """Each item of a column, made once of what stands in its pool."""
    pool, places = pooled
    found = pool if made is None else [made(item) for item in pool]
    return map(found.__getitem__, places)


def _value(data: Any) -> Any:
    return data if type(data) is float else decoded_bound(data)

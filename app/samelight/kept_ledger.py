"""The decisions of a sequence kept from one day to the next, so that only new ones are read.

One file a sequence beside its kept sheets, under the same conditions: it may be deleted at any time, and what is damaged
or was of anything else counts as nothing. The ledger's own files stay what counts.
"""

from __future__ import annotations

import json
import time
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from samelight.decisions.decision import Decision, Verb
from samelight.decisions.entries import Entry
from samelight.kept import SAME_MOMENT, Kept, read_sound, write_sound
from samelight.sheets.values import decoded_bound, encoded

FEWEST = 200
"""Decisions. Fewer are read about as fast as what was kept of them."""


def load_decisions(kept: Kept) -> dict[str, Entry]:
    """The entries that were kept, by the names of their files. Whoever takes one sees to it that the file has its stamp."""
    try:
        data = json.loads(read_sound(kept.file("decisions")))
        if data["head"] != kept.head():
            return {}
        settled = int(data["written"]) - SAME_MOMENT
        found: dict[str, Entry] = {}
        for name, stated, digest, *fields in data["decisions"]:
            modified, size, inode, changed = stated
            if modified < settled:
                stamp = int(modified), int(size), int(inode), int(changed)
                found[name] = Entry(name, stamp, str(digest), _decision(*fields))
    except (OSError, ValueError, KeyError, IndexError, TypeError, AttributeError, RecursionError):
        return {}
    return found


def worth_keeping(kept: Kept, known: Mapping[str, Entry]) -> bool:
    """Whether so many entries are new that it is worth the writing."""
    return len(known) >= FEWEST and len(known) - kept.decisions >= max(FEWEST // 4, len(known) // 20)


def save_decisions(kept: Kept, known: Mapping[str, Entry]) -> None:
    """Keep decisions, where that is worth the writing."""
    if not worth_keeping(kept, known):
        return
    rows = [
        (name, entry.stamp, entry.digest, *_fields(entry.decision))
        for name, entry in known.items()
        if entry.decision is not None
    ]
    data = {"head": kept.head(), "written": time.time_ns(), "decisions": rows}
    write_sound(kept.file("decisions"), json.dumps(data).encode())
    kept.decisions = len(rows)


def _fields(of: Decision) -> list[Any]:
    values = encoded(of.value), encoded(of.master)
    seen = of.follows, of.withdraws, of.batch, of.until, of.of, of.saw
    return [of.id, of.verb, of.shot, of.parameter, *values, of.reason, of.who, of.when.isoformat(), *seen]


def _decision(*fields: Any) -> Decision:
    id_, verb, shot, parameter, value, master, reason, who, when, follows, *others = fields
    withdraws, batch, until, of, saw = others
    return Decision(
        id_,
        Verb(verb),
        shot,
        parameter,
        value if type(value) is float else decoded_bound(value),
        master if type(master) is float else decoded_bound(master),
        reason,
        who,
        datetime.fromisoformat(when),
        tuple(follows),
        withdraws,
        batch,
        until,
        of,
        None if saw is None else tuple(saw),
    )

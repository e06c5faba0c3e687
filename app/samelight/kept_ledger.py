"""The decisions of a film kept from one day to the next, so that only new ones are read.

One file a sequence beside its kept sheets, under the same conditions: it may be deleted at any time, and what is damaged
or was of anything else counts as nothing. The ledger's own files stay what counts.
"""

from __future__ import annotations

import json
import time
from collections.abc import Mapping
from contextlib import suppress
from datetime import datetime
from typing import Any

from samelight.decisions.decision import Decision, Verb
from samelight.decisions.ledger import FOLDER, Known
from samelight.kept import SAME_MOMENT, Kept, read_sound, write_sound
from samelight.sheets.stamps import stamp_of
from samelight.sheets.values import decoded_bound, encoded

FEWEST = 200
"""Decisions. Fewer are read about as fast as what was kept of them."""


def load_decisions(kept: Kept) -> dict[str, Known]:
    """The decisions that were kept, by the names of their files, of files that are as they were."""
    try:
        data = json.loads(read_sound(kept.file("decisions")))
        if data["head"] != kept.head():
            return {}
        settled = int(data["written"]) - SAME_MOMENT
        folder, found = kept.folder / FOLDER, {}
        for name, stated, *fields in data["decisions"]:
            with suppress(OSError):  # it went
                stamp = stamp_of(folder / name)
                if list(stamp) == stated and stamp[0] < settled:
                    found[name] = stamp, _decision(*fields)
    except (OSError, ValueError, KeyError, IndexError, TypeError, AttributeError, RecursionError):
        return {}
    kept.decisions = len(found)
    return found


def save_decisions(kept: Kept, known: Mapping[str, Known]) -> None:
    """Keep decisions, where so many are new that it is worth the writing."""
    if len(known) < FEWEST or len(known) - kept.decisions < max(FEWEST // 4, len(known) // 20):
        return
    rows = [(name, stamp, *_fields(decision)) for name, (stamp, decision) in known.items()]
    data = {"head": kept.head(), "written": time.time_ns(), "decisions": rows}
    write_sound(kept.file("decisions"), json.dumps(data).encode())
    kept.decisions = len(rows)


def _fields(of: Decision) -> list[Any]:
    values = encoded(of.value), encoded(of.master)
    seen = of.follows, of.withdraws, of.batch, of.until
    return [of.id, of.verb, of.shot, of.parameter, *values, of.reason, of.who, of.when.isoformat(), *seen]


def _decision(*fields: Any) -> Decision:
    id_, verb, shot, parameter, value, master, reason, who, when, follows, *others = fields
    made, values = datetime.fromisoformat(when), (decoded_bound(value), decoded_bound(master))
    return Decision(id_, Verb(verb), shot, parameter, *values, reason, who, made, tuple(follows), *others)

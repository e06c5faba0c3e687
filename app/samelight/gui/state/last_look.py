"""How a sequence stood when its window was closed: what "when I last looked" means. No Qt."""

from __future__ import annotations

import contextlib
import hashlib
import json
from datetime import datetime
from pathlib import Path
from typing import Any

from samelight.reports.since import Since
from samelight.sequence.case_events import as_rows, from_rows, snapshot
from samelight.sequence.session import Session
from samelight.sheets.private import read_own, write_own
from samelight.sheets.vocabulary import FORMAT_VERSION

_LARGEST = 2**28


def keep_look(folder: Path, session: Session) -> None:
    """Keep how a sequence stands now, among the user's own files in a folder; one that cannot be written is no error."""
    data: dict[str, Any] = {
        "samelight": FORMAT_VERSION,
        "when": datetime.now().astimezone().isoformat(timespec="seconds"),
        "cases": as_rows(snapshot(session)),
    }
    with contextlib.suppress(OSError):
        write_own(
            _file(folder, session.contents.folder), json.dumps(data).encode("utf-8", "backslashreplace")
        )


def last_look(folder: Path, sequence: Path) -> Since | None:
    """How the sequence of a folder stood when it was last kept; None where it was not, or that cannot be read."""
    try:
        data = json.loads(read_own(_file(folder, sequence), _LARGEST))
        when = datetime.fromisoformat(data["when"])
        return Since(f"I last looked ({when:%d %B %H:%M})", from_rows(data["cases"]))
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return None


def _file(folder: Path, sequence: Path) -> Path:
    named = str(sequence.resolve()).encode("utf-8", "surrogateescape")
    return folder / "looks" / f"{hashlib.sha256(named).hexdigest()[:40]}.json"

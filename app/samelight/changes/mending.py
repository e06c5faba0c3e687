"""What can be done about a shot at once: its next version with the master's values, or with the current master adopted."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from enum import StrEnum
from pathlib import Path
from typing import Any

from samelight.changes.adopting import adoptions
from samelight.changes.fix_list import fix_list
from samelight.changes.fixing import fixed_version
from samelight.changes.next_text import differences, next_text, text_of
from samelight.sequence.session import Session
from samelight.sequence.troubles import Trouble, apart
from samelight.sheets.errors import SamelightError
from samelight.sheets.sheet import Sheet
from samelight.sheets.writing import write_whole


class Way(StrEnum):
    """How a shot is mended."""

    SET = "the master's values"
    ADOPT = "the current master"


@dataclass(frozen=True, slots=True)
class Mending:
    """A shot's next version, which is not written yet. `lines` say what it does, `before` and `after` are the texts of the sheet now
    and of the new one, whose `tree` it is."""

    sheet: Sheet
    path: Path
    lines: tuple[str, ...]
    tree: Mapping[str, Any]
    before: str
    after: str

    @property
    def shot(self) -> str:
        """Which shot it is."""
        return self.sheet.shot

    @property
    def differences(self) -> list[str]:
        """The lines of the file that differ, as `differences` has them."""
        return differences(self.before, self.after)


def mendings(
    session: Session,
    way: Way,
    shots: Sequence[str] | None = None,
    failed: list[Trouble] | None = None,
) -> list[Mending]:
    """What can be written for these shots (None: for all). Shots of which nothing is to be written are left out. One that fails is
    left out and added to `failed`, without which it is raised.

    Raises `SamelightError` where decisions cannot all be read: what was intended might be put back.
    """
    if session.ledger.faults or session.ledger.gone:
        raise SamelightError("Samelight cannot read every decision, and might put intended values back")
    return (_set if way is Way.SET else _adopted)(session, shots, failed)


def _set(session: Session, shots: Sequence[str] | None, failed: list[Trouble] | None) -> list[Mending]:
    found = []
    for part in fix_list(session, shots=None if shots is None else frozenset(shots), failed=failed):
        if not part.fixes:
            continue
        with apart(part.shot, failed):
            fixed = fixed_version(session, part)
            lines = [f"{fix.cell.parameter}: {fix.do}" for fix in part.fixes]
            lines += [f"still drifts, to be set by hand: {name}" for name in fixed.remaining]
            found.append(
                Mending(part.sheet, fixed.path, tuple(lines), fixed.tree, text_of(part.sheet), fixed.text)
            )
    return found


def _adopted(session: Session, shots: Sequence[str] | None, failed: list[Trouble] | None) -> list[Mending]:
    found = []
    for shot in session.contents.shots if shots is None else shots:
        sheet = session.contents.sheets.get(shot)
        for one in adoptions(session, [shot], failed) if sheet else ():
            lines = [
                f"{title}: {', '.join(names)}"
                for title, names in (
                    ("takes over", one.taken),
                    ("keeps, as intended", one.kept),
                    ("holds its own", one.held),
                    ("cannot be written for it, set by hand", one.left),
                )
                if names
            ]
            assert sheet is not None
            found.append(Mending(sheet, one.path, tuple(lines), one.tree, text_of(sheet), one.text))
    return found


def signed(mending: Mending, who: str) -> Mending:
    """The same version, which says who made it, when, and of which version."""
    day = datetime.now().astimezone().date().isoformat()
    made = {"by": who, "on": day, "from": f"{mending.shot} v{mending.sheet.version:03d}"}
    tree = {**mending.tree, "published": made}
    return replace(mending, tree=tree, after=next_text(mending.sheet, mending.path, tree))


def write(mending: Mending) -> Path:
    """Write the version. Raises `WriteError` where it was published meanwhile."""
    write_whole(mending.path, mending.after, overwrite=False)
    return mending.path

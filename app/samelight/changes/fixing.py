"""A shot's next version with parameters put back to the master's."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from samelight.changes.fix_list import ShotFixes
from samelight.changes.next_text import next_text
from samelight.decisions.state import State
from samelight.drift.cells import Grade
from samelight.drift.table import build_table
from samelight.sequence.session import Session
from samelight.sheets.moved import moved_to
from samelight.sheets.sequence import next_sheet
from samelight.sheets.sheet import Sheet, sheet_from_document
from samelight.sheets.trees import parse_document
from samelight.sheets.writing import write_whole, yaml_text


@dataclass(frozen=True, slots=True)
class FixedVersion:
    """A version that is not written yet, and its file's `text`. `remaining` are the parameters that would still drift, and are not
    intended."""

    shot: str
    version: int
    path: Path
    tree: dict[str, Any]
    remaining: tuple[str, ...]
    text: str = ""


def fixed_version(session: Session, part: ShotFixes) -> FixedVersion:
    """The next version of a shot's sheet with the fixes done.

    It names the current master as the one it stands on when nothing of it is unsettled any more.
    """
    version, path = next_sheet(
        session.contents.folder, part.shot, session.contents.versions[part.shot], part.sheet.path.suffix
    )
    tree = {**part.tree, "version": version}
    remaining = _remaining(session, fixed_sheet(session, part, tree))
    setup = session.contents.setup_of(part.shot)
    if not remaining and setup.master_version is not None and not setup.follows:
        tree["master"] = setup.master_version
    return FixedVersion(part.shot, version, path, tree, remaining, next_text(part.sheet, path, tree))


def write_fixed(fixed: FixedVersion) -> Path:
    """Write it. Raises `WriteError` when that version was published meanwhile."""
    write_whole(fixed.path, fixed.text, overwrite=False)
    return fixed.path


def fixed_sheet(session: Session, part: ShotFixes, tree: dict[str, Any]) -> Sheet:
    """A tree of a shot as it will be read from its file."""
    return sheet_from_document(
        parse_document(part.sheet.path.with_suffix(".yaml"), yaml_text(tree)),
        shot=part.shot,
        version=tree["version"],
        given=session.contents.sequence.conventions,
        kinds=session.contents.policy.kinds,
    )


def _remaining(session: Session, sheet: Sheet) -> tuple[str, ...]:
    setup = session.contents.setup_of(sheet.shot)
    master = None if setup.master is None else moved_to(setup.master, sheet)
    table = build_table([sheet.shot], {sheet.shot: sheet}, master, setup.policy)
    found = []
    for row in np.flatnonzero(table.grade[:, 0] >= Grade.DRIFT).tolist():
        what, entry = table.rows[row], table.entry(row, 0)
        if entry is None or what.section == "cost":
            continue
        judged = session.ledger.judgement(
            sheet.shot, what.parameter, *table.bound(row, 0), setup.master_version
        )
        if judged.state is not State.INTENDED:
            found.append(what.parameter)
    return tuple(found)

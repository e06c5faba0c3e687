"""What was read, compared and decided of a sequence, kept for another day."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from samelight.decisions.ledger import Ledger
from samelight.sequence.contents import Contents
from samelight.sequence.references import MASTER, Comparison, compare, compare_again, of_parts
from samelight.sequence.store import FEWEST
from samelight.sequence.stored_ledger import KeptDecisions, save_decisions, worth_keeping
from samelight.sequence.stored_table import Kept, load_tables, save_tables
from samelight.sheets.at_rest import NOT_LOOKED_INTO, production_above
from samelight.sheets.moved import each_moved
from samelight.sheets.sheet import Sheet


@dataclass(frozen=True, slots=True)
class Opened:
    """A sequence as it was opened: compared with the master, and whether its table is kept already."""

    contents: Contents
    comparison: Comparison
    is_kept: bool


def first_comparison(contents: Contents) -> Opened:
    """`compare` with the master; what was compared on another day and did not change is not compared again."""
    if not is_large(contents):
        return Opened(contents, compare(contents), False)
    kept, parts = load_tables(contents), contents.parts
    found = [_compared(part, of) for part, of in zip(parts, kept, strict=True)]
    is_kept = all(
        of is not None and one.table.rows is of[0].rows for one, of in zip(found, kept, strict=True)
    )
    return Opened(contents, of_parts(contents, MASTER, found) if contents.setups else found[0], is_kept)


def _compared(part: Contents, kept: Kept | None) -> Comparison:
    """A part compared with its master, of which a table may be kept."""
    if kept is None or part.master is None:
        return compare(part)
    table, sheets = kept
    before = Comparison(MASTER, table, sheets, _held(part.master, part))
    return compare_again(before, replace(part, sheets=sheets), part)


def _held(master: Sheet, part: Contents) -> Mapping[str, Sheet]:
    moved = each_moved(master, part.sheets, part.shots)
    return moved if isinstance(moved, dict) else dict.fromkeys(part.shots, moved)


def is_large(contents: Contents) -> bool:
    """Whether a sequence was read whole, and is so large that it is kept."""
    is_whole = len(contents.versions) == len(contents.shots)
    return is_whole and max(len(part.masters) for part in contents.parts) + len(contents.shots) >= FEWEST


def keeping(opened: Opened, ledger: Ledger, kept: KeptDecisions) -> Callable[[], None] | None:
    """What keeps a sequence as it was opened, with the decisions that are known, of which some are `kept` already; None
    where nothing is worth that."""
    contents, known = opened.contents, ledger.known()
    of_decisions = worth_keeping(known, kept.entries)
    sound = ledger.sound() if of_decisions else None
    if not is_large(contents) and not of_decisions:
        return None

    def keep() -> None:
        if is_large(contents):
            anew = contents.store.save(contents.disk, contents.all_sheets)
            if (anew or not opened.is_kept) and not opened.comparison.failed:
                compared = opened.comparison
                save_tables(contents, [one.table for one in compared.parts or (compared,)])
        if of_decisions:
            save_decisions(contents.disk, known, sound)

    return keep


def is_of_its_folder(contents: Contents) -> bool:
    """Whether what comes of a sequence hangs on nothing but what lies in those folders of it that are looked into, and on YAML
    files beside a production.yaml above it."""
    sequence = contents.sequence
    policies = [setup.policy for setup in sequence.setups.values()]
    named = [path for path in (sequence.policy, sequence.cut_file, *policies) if path is not None]
    named += contents.store.scene_files
    common = contents.store.rules_above().policy
    return all(_top(path, sequence.folder) not in {None, *NOT_LOOKED_INTO} for path in named) and (
        common is None
        or os.path.realpath(common.parent) in production_above(os.path.realpath(sequence.folder))
    )


def _top(path: Path, folder: Path) -> str | None:
    """The name in a folder that a path goes through at last, however it is written; None where it lies elsewhere."""
    real, top = Path(os.path.realpath(path)), Path(os.path.realpath(folder))
    return real.relative_to(top).parts[0].casefold() if real != top and real.is_relative_to(top) else None

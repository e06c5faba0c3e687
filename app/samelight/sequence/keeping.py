"""What was read, compared and decided of a sequence, kept for another day."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from samelight.decisions.ledger import Ledger
from samelight.sequence.contents import Contents
from samelight.sequence.references import MASTER, Comparison, compare, compare_again
from samelight.sequence.store import FEWEST
from samelight.sequence.stored_ledger import KeptDecisions, save_decisions, worth_keeping
from samelight.sequence.stored_table import load_table, save_table


@dataclass(frozen=True, slots=True)
class Opened:
    """A sequence as it was opened: compared with the master, and whether its table is kept already."""

    contents: Contents
    comparison: Comparison
    is_kept: bool


def first_comparison(contents: Contents) -> Opened:
    """`compare` with the master; what was compared on another day and did not change is not compared again."""
    found = load_table(contents) if is_large(contents) else None
    if found is None or contents.master is None:
        return Opened(contents, compare(contents), False)
    table, sheets = found
    before = Comparison(MASTER, table, sheets, dict.fromkeys(contents.shots, contents.master))
    comparison = compare_again(before, replace(contents, sheets=sheets), contents)
    return Opened(contents, comparison, comparison.table.rows is table.rows)


def is_large(contents: Contents) -> bool:
    """Whether a sequence was read whole, and is so large that it is kept."""
    is_whole = len(contents.versions) == len(contents.shots)
    return is_whole and len(contents.masters) + len(contents.shots) >= FEWEST


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
                save_table(contents, opened.comparison.table)
        if of_decisions:
            save_decisions(contents.disk, known, sound)

    return keep

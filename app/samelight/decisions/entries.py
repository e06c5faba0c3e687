"""The files of a ledger as entries: each with the stamp it was known by, the digest of what was typed, and its decision."""

from __future__ import annotations

import errno
import hashlib
from collections.abc import Callable, Iterable
from contextlib import suppress
from pathlib import Path
from typing import NamedTuple

from samelight.decisions.decision import Decision, from_tree
from samelight.sheets.errors import Fault, SheetError
from samelight.sheets.plain_files import is_within
from samelight.sheets.stamps import Stamp, stamp_of
from samelight.sheets.trees import parse_document, read_text

_TRIES = 3


class LedgerEntry(NamedTuple):
    """What one file of the folder held when it was read. `digest` is empty where no text could be read, and `id` where it
    holds no decision. One that is kept from another day makes its decision when it is asked for."""

    name: str
    stamp: Stamp
    digest: str
    id: str
    held: Decision | Callable[[str], Decision] | None
    """The decision, or what makes it by its id."""
    faults: tuple[Fault, ...] = ()

    @property
    def decision(self) -> Decision | None:
        """The decision; None where the file holds none."""
        return self.held(self.id) if callable(self.held) else self.held

    def made(self) -> Decision:
        """The decision of a file that holds one."""
        decision = self.decision
        assert decision is not None  # by `id` the caller knows that there is one
        return decision


def entry_of(name: str, stamp: Stamp, digest: str, decision: Decision) -> LedgerEntry:
    """The entry of a file that holds a decision."""
    return LedgerEntry(name, stamp, digest, decision.id, decision)


def digest_of(text: str) -> str:
    """A short digest of what was typed, whichever way its lines end.

    >>> digest_of("a: 1\\n") == digest_of("a: 1\\r\\n"), len(digest_of(""))
    (True, 16)
    """
    typed = text.replace("\r\n", "\n").encode("utf-8", "surrogatepass")
    return hashlib.sha256(typed).hexdigest()[:16]


class Fetched(NamedTuple):
    """The text of a file as it held still, or why there is none."""

    path: Path
    stamp: Stamp
    text: str
    error: SheetError | None = None


def fetch(path: Path) -> Fetched | None:
    """The text of a file that held still while it was read; None where it went. Waits for the disk, and does little else.
    Raises OSError."""
    stamp = look_at(path)
    for _ in range(_TRIES):
        if stamp is None:
            return None
        fetched = _fetched(path, stamp)
        before, stamp = stamp, look_at(path)
        if stamp == before:
            return fetched
    if stamp is None:
        return None
    restless = Fault(str(path), "", "a file that is whole", "one that is being written")
    return Fetched(path, stamp, "", SheetError([restless]))


def _fetched(path: Path, stamp: Stamp) -> Fetched:
    try:
        return Fetched(path, stamp, read_text(path))
    except SheetError as error:
        return Fetched(path, stamp, "", error)


def look_at(path: Path | str) -> Stamp | None:
    """The stamp of a file, or of a link that leads nowhere or to itself; None where there is neither. Raises OSError."""
    try:
        return stamp_of(path)
    except FileNotFoundError:
        pass
    except OSError as error:
        if error.errno != errno.ELOOP:
            raise
    with suppress(FileNotFoundError):
        return stamp_of(path, follow=False)
    return None


def entry_in(fetched: Fetched, known: LedgerEntry | None = None) -> LedgerEntry:
    """What a file holds. With the digest of what is `known` of it, it holds that still."""
    path, stamp, text, error = fetched
    digest = "" if error else digest_of(text)
    if known is not None and known.id and known.digest == digest:
        return known._replace(stamp=stamp)
    try:
        if error is not None:
            raise error
        document = parse_document(path, text)
        decision = from_tree(document.data, document.faults)
        document.faults.raise_if_any()
    except SheetError as wrong:
        faults = wrong.faults
        if not is_within(path, path.parent):
            # What it quotes may be nobody's business.
            faults = (Fault(str(path), "", "a decision", "a link to another file outside the ledger"),)
        return LedgerEntry(path.name, stamp, digest, "", None, faults)
    return LedgerEntry(path.name, stamp, digest, decision.id if decision else "", decision)


def named(entry: LedgerEntry) -> str:
    """How a later entry says that its maker knew this one."""
    return f"{entry.id or entry.name}:{entry.digest}"


def receipt_of(entries: Iterable[LedgerEntry]) -> str:
    """One short digest of a ledger, the same on every machine: how many decisions there are, and which.

    The order of files, copies of them, and the way their lines end make no difference.
    """
    names = sorted({named(entry) for entry in entries if entry.id})
    whole = hashlib.sha256("\n".join(names).encode("utf-8", "surrogatepass")).hexdigest()
    return f"{len(names)}-{whole[:16]}"

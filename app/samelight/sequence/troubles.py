"""What the user must know about a sequence, in sentences."""

from __future__ import annotations

import shlex
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType

from samelight.sheets.errors import Fault, SheetError
from samelight.sheets.sequence import Published
from samelight.sheets.sheet import Sheet
from samelight.sheets.unforeseen import sentence_of, what_failed


@dataclass(frozen=True, slots=True)
class Trouble:
    """Something about the sequence that the user must know: what, and the shot it concerns, if one.

    `failed` is set where a part of the program failed, so that what is said of the sequence is not whole; `unheld` where a
    lock holds nothing, or a shot is compared with nothing, so that what is broken there is not told as such; `asks_for_first` where a first master is
    to be published.
    """

    says: str
    shot: str | None = None
    faults: tuple[Fault, ...] = ()
    failed: bool = False
    unheld: bool = False
    asks_for_first: bool = False


def failure(subject: str, error: Exception, done: str = "drawn") -> Trouble:
    """A part of the program that failed, where the others go on: what could not be done, why, and where more is said."""
    return Trouble(f"{subject} could not be {done}: {what_failed(error)}.", failed=True)


@dataclass(frozen=True, slots=True)
class _Apart:
    shot: str
    failed: list[Trouble] | None
    subject: str

    def __enter__(self) -> None:
        pass

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, where: TracebackType | None
    ) -> bool:
        if self.failed is None or not isinstance(error, Exception) or isinstance(error, BrokenPipeError):
            return False
        self.failed.append(Trouble(f"{self.subject}: {sentence_of(error)}", self.shot, failed=True))
        return True


def apart(shot: str, failed: list[Trouble] | None, subject: str = "") -> _Apart:
    """Keep what fails in one shot from the others, by `with`: it is added to `failed`, under the shot's name or another `subject`.
    Raises it where `failed` is None, and in any case where whoever read the results has gone."""
    return _Apart(shot, failed, subject or shot)


def rivals(published: Published, shot: str | None) -> list[Trouble]:
    """Where two files state one version, which one is read must not be a chance that nobody hears of."""
    return [
        Trouble(f"{read.name} and {other.name} are the same version: {read.name} is read.", shot)
        for read, other in published.rivals
    ]


def said_of(outcome: Sheet | SheetError, shot: str | None, version: int) -> tuple[Trouble, ...]:
    """What there is to say of a sheet that was read, or could not be."""
    if isinstance(outcome, Sheet):
        return tuple([Trouble(f"{shot or 'master'}: {remark}", shot) for remark in outcome.remarks])
    subject = f"{shot} is unreadable" if shot else f"Master version {version} is unreadable"
    count = len(outcome.faults)
    more = f" (and {count - 1} more)" if count > 1 else ""
    return (Trouble(f"{subject}: {outcome.faults[0]}{more}", shot, outcome.faults),)


def without_master(folder: Path, key_shot: str | None, setup: str = "") -> Trouble:
    """That there is nothing to compare with yet, and how it comes about."""
    command = f"samelight publish {shlex.quote(str(folder))}" + (f" --setup {setup}" if setup else "")
    makes = f"makes the first from the sheet of {key_shot}"
    if key_shot is None:
        command, makes = f"{command} --from SHOT", "makes the first from a shot's sheet"
    of, nothing = (f" of {setup}", "nothing of it") if setup else ("", "nothing")
    says = f"No master setup{of} is published yet, so that {nothing} is compared: `{command}` {makes}."
    return Trouble(says, unheld=bool(setup), asks_for_first=True)


def without_base(setup: str, base: str) -> Trouble:
    """That a set-up comes from one that has no master, so that nothing of it is held to that."""
    return Trouble(
        f"{setup} comes from {base}, which has no master: it is held to its own alone.", unheld=True
    )


def without_sheet(shot: str, published: Published, pin: int | None) -> Trouble:
    """Why no sheet of a shot is chosen."""
    if published.unreadable:
        return Trouble(f"The folder of {shot} cannot be read: {published.unreadable}.", shot)
    if not published.versions:
        return Trouble(f"{shot} has no published sheet.", shot)
    return Trouble(f"{shot} is pinned to version {pin}, which is not there.", shot)

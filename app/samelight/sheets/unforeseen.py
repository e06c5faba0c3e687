"""Errors that nobody foresaw: the user gets a sentence, and whoever mends the program a file with the traceback."""

from __future__ import annotations

import hashlib
import os
import traceback
from pathlib import Path

from platformdirs import user_log_path

from samelight.sheets.errors import SamelightError
from samelight.sheets.private import keep_latest, make_folder, write_own

MOST_KEPT = 20
"""Files with tracebacks; the one that was not met for longest goes first."""

_LONGEST = 200
"""Characters of an error's own text in a sentence."""
_ENDING = ".traceback.txt"


def kept_errors() -> Path:
    """The folder with the tracebacks."""
    return user_log_path("samelight", appauthor=False)


def sentence_of(error: Exception) -> str:
    """What a user is told of an error that stopped something: the whole message of one that is meant for users, the file and
    the system's reason of one of the system, and of any other `what_failed`."""
    if isinstance(error, SamelightError):
        return str(error)
    if isinstance(error, OSError):
        why = error.strerror or str(error)
        return f"{error.filename}: {why}" if error.filename else why
    return f"an error of the program itself stopped this: {what_failed(error)}"


def what_failed(error: BaseException) -> str:
    """An error in a clause, and where its traceback is kept; the traceback is written where it is not there yet.

    Writing it is tried, not demanded: an error is told also where nothing can be written.
    """
    said = " ".join(str(error).split())
    if len(said) > _LONGEST:
        said = said[: _LONGEST - 1] + "…"
    kind = type(error).__name__
    return f"{kind}: {said} ({_kept(error)})" if said else f"{kind} ({_kept(error)})"


def _kept(error: BaseException) -> str:
    try:
        text = "".join(traceback.format_exception(error))
        content = text.encode("utf-8", "backslashreplace")
        path = kept_errors() / f"{hashlib.sha256(content).hexdigest()[:16]}{_ENDING}"
        make_folder(path.parent)
        if path.exists():  # the same error in the same place: one file, however often it is met
            os.utime(path)
        else:
            write_own(path, content)
            keep_latest(path, _ENDING, MOST_KEPT)
    except (OSError, ValueError, RuntimeError, RecursionError) as other:
        reason = getattr(other, "strerror", None) or other
        return f"its traceback could not be written: {reason}"
    return f"the traceback is in {path}"

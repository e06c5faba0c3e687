"""Which files were read well before, so that they need no child process: a note in the user's cache folder.

It holds digests alone and may be deleted at any time. Whoever writes a digest into it takes a guard away from himself.
"""

from __future__ import annotations

import contextlib
import json
from collections.abc import Callable
from pathlib import Path
from typing import ParamSpec, TypeVar

from platformdirs import user_cache_path

from samelight import __version__
from samelight.sheets.plain_files import UnfitFileError, read_plain
from samelight.sheets.writing import WriteError, json_text, write_whole
from samelight.sources.limits import Limits
from samelight.sources.provenance import digest_of
from samelight.sources.trial import tried

P = ParamSpec("P")
T = TypeVar("T")

MOST = 500
"""Digests; those that were noted longest ago go first."""
_LARGEST = 2**20


def read_guarded(file: Path, limits: Limits, work: Callable[P, T], *args: P.args, **kwargs: P.kwargs) -> T:
    """What `work` makes of a file: in place where the same bytes were read well before, else as `trial.tried` does it.

    Raises as `tried`.
    """
    digest = digest_of(file)
    known = _noted()
    if digest is None or digest in known:
        return work(*args, **kwargs)
    result = tried(file, limits, work, *args, **kwargs)
    _note([*known, digest])
    return result


def note_file() -> Path:
    """Where the note lies."""
    return user_cache_path("samelight", appauthor=False) / "read_well.json"


def _noted() -> list[str]:
    try:
        data = json.loads(read_plain(note_file(), _LARGEST))
    except (UnfitFileError, OSError, ValueError, RecursionError):
        return []
    digests = data.get(__version__) if isinstance(data, dict) else None
    return [one for one in digests if isinstance(one, str)] if isinstance(digests, list) else []


def _note(digests: list[str]) -> None:
    with contextlib.suppress(WriteError, OSError):
        write_whole(note_file(), json_text({__version__: digests[-MOST:]}))

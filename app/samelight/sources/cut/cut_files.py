"""Cut files read by OpenTimelineIO."""

from __future__ import annotations

import json
import re
from collections import Counter
from pathlib import Path
from typing import Any

from samelight.sheets.errors import shown
from samelight.sources.errors import CaptureError
from samelight.sources.plain_files import open_plain_file

LARGEST = 64 * 2**20
"""Bytes. The cut of a feature film has a few megabytes."""

MOST = 50_000
"""Clips in a cut, several times those of a feature film; OpenTimelineIO takes a fifth of a millisecond for each."""

DEEPEST = 200
"""Levels of objects inside each other; OpenTimelineIO's reader of JSON has no limit of its own and falls over."""

_ENDINGS = (".otio", ".edl")
_TEXT = re.compile(r'"(?:[^"\\]|\\.)*"')
_AUDIO_EVENT = re.compile(r"\s*\d+\s+\S+\s+(?:A\d*|AA|NONE)\s", re.IGNORECASE)
_EVENT = re.compile(r"\s*\d+\s+\S+\s+\S+\s+\S+")
_TIMES = re.compile(r"(?:\s\d\d:\d\d:\d\d[:;]\d\d){4}\s*$")
_CLIP = re.compile(r'"OTIO_SCHEMA"\s*:\s*"Clip\.')


def read_timeline(path: Path, frame_rate: float) -> Any:
    """The timeline in a cut file. Raises `CaptureError` with what is wrong with the file."""
    expected = f"a cut ({' or '.join(_ENDINGS)})"
    suffix = path.suffix.lower()
    if suffix not in _ENDINGS:
        raise CaptureError(path, expected, f"a file named *{suffix}" if suffix else "a name without a suffix")
    text = _text(path, expected)
    if suffix == ".otio":
        _check_json(path, text)
    else:
        _check_events(path, text)

    from opentimelineio import adapters, schema

    try:
        if suffix == ".otio":
            found = adapters.read_from_string(text, "otio_json")
        else:
            found = adapters.read_from_string(_video_events(text), "cmx_3600", rate=frame_rate)
    except Exception as error:  # noqa: BLE001
        # The library raises a dozen kinds of errors, those of its C++ part among them; each is about the file.
        raise CaptureError(path, "a well-formed cut", sentence_of(error)) from None
    if isinstance(found, schema.SerializableCollection):
        found = next((item for item in found if isinstance(item, schema.Timeline)), found)
    if not isinstance(found, schema.Timeline):
        kind = str(found.schema_name()) if hasattr(found, "schema_name") else "no object of a cut"
        raise CaptureError(path, "a timeline", kind)
    return found


def _text(path: Path, expected: str) -> str:
    try:
        with open_plain_file(path, expected, LARGEST) as stream:
            raw = stream.read(LARGEST)
    except OSError as error:
        raise CaptureError(path, "a readable file", error.strerror or str(error)) from None
    if not raw.strip():
        raise CaptureError(path, expected, "an empty file")
    try:
        return raw.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        if path.suffix.lower() == ".edl":  # older than UTF-8, and only its comments are ever beyond ASCII
            return raw.decode("latin-1").replace("\r\n", "\n")
        raise CaptureError(path, "UTF-8 text", f"the byte 0x{raw[error.start]:02X}") from None


def _check_json(path: Path, text: str) -> None:
    """Refuse what OpenTimelineIO's own reader would fall over, and the program with it: deep or malformed JSON."""
    _check_number(path, sum(1 for _ in _CLIP.finditer(text)), "clips")
    depth = 0
    for bracket in re.findall(r"[\[{\]}]", _TEXT.sub("", text)):
        depth += 1 if bracket in "[{" else -1
        if depth > DEEPEST:
            raise CaptureError(path, f"at most {DEEPEST} levels of nesting", "more")

    def once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        keys = Counter(key for key, _ in pairs)
        for key, times in keys.items():
            if times > 1:
                raise CaptureError(path, "each key of an object once", f"{shown(key)} {times} times")
        return dict(pairs)

    try:
        json.loads(text, object_pairs_hook=once)
    except json.JSONDecodeError as error:
        raise CaptureError(path, "a well-formed cut", f"{error.msg} in line {error.lineno}") from None
    except ValueError as error:
        raise CaptureError(path, "a well-formed cut", sentence_of(error)) from None


def _check_events(path: Path, text: str) -> None:
    """Refuse an event without its number, which OpenTimelineIO's reader would leave out without a word."""
    lines = text.split("\n")
    _check_number(path, sum(_TIMES.search(line) is not None for line in lines), "events")
    for number, line in enumerate(lines, 1):
        if _TIMES.search(line) and not _EVENT.match(line) and not line.lstrip().startswith("*"):
            raise CaptureError(path, "a well-formed cut", f"an event without its number in line {number}")


def _check_number(path: Path, found: int, what: str) -> None:
    if found > MOST:
        raise CaptureError(path, f"a cut of at most {MOST:,} {what}", f"one of {found:,}")


def _video_events(text: str) -> str:
    """An .edl without its events of sound alone, whose times would overlap those of the picture."""
    kept: list[str] = []
    skipping = False
    for line in text.split("\n"):
        if _EVENT.match(line):
            skipping = _AUDIO_EVENT.match(line) is not None
        if not skipping:
            kept.append(line)
    return "\n".join(kept)


def sentence_of(error: Exception) -> str:
    """What a library says of an error, in one line."""
    said = " ".join(str(error.args[0] if error.args else error).split())
    return (said[:200] or type(error).__name__).rstrip(".")

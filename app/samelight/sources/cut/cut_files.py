"""Cut files read by OpenTimelineIO, and their video tracks made one."""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from samelight.sheets.errors import shown
from samelight.sources.errors import CaptureError
from samelight.sources.plain_files import open_plain_file

LARGEST = 64 * 2**20
"""Bytes. The cut of a feature film has a few megabytes."""

DEEPEST = 200
"""Levels of objects inside each other; OpenTimelineIO's reader of JSON has no limit of its own and falls over."""

_ENDINGS = (".otio", ".edl")
_TEXT = re.compile(r'"(?:[^"\\]|\\.)*"')
_AUDIO_EVENT = re.compile(r"\s*\d+\s+\S+\s+(?:A\d*|AA|NONE)\s", re.IGNORECASE)
_EVENT = re.compile(r"\s*\d+\s+\S+\s+\S+\s+\S+")
_TIMES = re.compile(r"(?:\s\d\d:\d\d:\d\d[:;]\d\d){4}\s*$")
_MOST_NESTED = 40


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
        raise CaptureError(path, "a well-formed cut", _sentence(error)) from None
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
        raise CaptureError(path, "a well-formed cut", _sentence(error)) from None


def _check_events(path: Path, text: str) -> None:
    """Refuse an event without its number, which OpenTimelineIO's reader would leave out without a word."""
    for number, line in enumerate(text.split("\n"), 1):
        if _TIMES.search(line) and not _EVENT.match(line) and not line.lstrip().startswith("*"):
            raise CaptureError(path, "a well-formed cut", f"an event without its number in line {number}")


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


def _sentence(error: Exception) -> str:
    said = " ".join(str(error.args[0] if error.args else error).split())
    return (said[:200] or type(error).__name__).rstrip(".")


def video_track(path: Path, timeline: Any) -> Any:
    """One track of clips and gaps that shows what the timeline shows; transitions are noted on the clips.

    Raises `CaptureError` for a timeline without a video track, and for tracks that cannot be laid over each other.
    """
    from opentimelineio import schema

    tracks = [
        track
        for track in timeline.tracks
        if isinstance(track, schema.Track) and track.kind == schema.TrackKind.Video and track.enabled
    ]
    if not any(len(track) for track in tracks):
        raise CaptureError(path, "a video track with clips", "none")
    try:
        plain = [_plain(track, 0) for track in _aligned(tracks)]
        return _flattened(plain)
    except CaptureError:
        raise
    except Exception as error:  # noqa: BLE001 - the library raises a dozen kinds
        raise CaptureError(path, "tracks that lie over each other", _sentence(error)) from None


def _aligned(tracks: Sequence[Any]) -> list[Any]:
    """The tracks with their starts told by gaps.

    The adapter for .edl starts each track at its first event and keeps the record time, negative, as the start of the
    track's own range; elsewhere such a range trims the track.
    """
    from opentimelineio import algorithms, opentime, schema

    ranges = [track.source_range for track in tracks]
    records = [-r.start_time.value if r is not None and r.start_time.value < 0 else None for r in ranges]
    earliest = min((record for record in records if record is not None), default=0.0)
    aligned = []
    for track, own, record in zip(tracks, ranges, records, strict=True):
        made = track.deepcopy()
        made.source_range = None
        if record is not None and record > earliest:
            rate = own.start_time.rate
            lead = opentime.TimeRange(
                opentime.RationalTime(0, rate), opentime.RationalTime(record - earliest, rate)
            )
            made.insert(0, schema.Gap(source_range=lead))
        elif record is None and own is not None:
            made = algorithms.track_trimmed_to_range(made, own)
        aligned.append(made)
    return aligned


def _plain(track: Any, depth: int) -> Any:
    """A track of clips and gaps alone: transitions become notes on their neighbours, nested tracks their clips."""
    from opentimelineio import schema

    if depth > _MOST_NESTED:
        raise ValueError("cuts inside cuts without end")
    _note_fades(track)
    made = schema.Track(track.name, kind=track.kind)
    for item in track:
        if isinstance(item, schema.Transition):
            continue
        if isinstance(item, schema.Stack | schema.Track):
            pieces = _nested(item, depth)  # kept, since iterating a track does not keep it
            for inner in pieces:
                made.append(inner.deepcopy())
        else:
            made.append(item.deepcopy())
    return made


def _nested(item: Any, depth: int) -> Any:
    from opentimelineio import algorithms, schema

    if not item.enabled:
        return [schema.Gap(source_range=item.trimmed_range())]
    inner = item if isinstance(item, schema.Stack) else [item]
    tracks = [track for track in inner if isinstance(track, schema.Track) and track.kind == "Video"]
    loose = [one for one in inner if not isinstance(one, schema.Track)]
    for one in loose:  # a clip may lie in a stack without a track
        holder = schema.Track("", kind="Video")
        holder.append(one.deepcopy())
        tracks.append(holder)
    if not tracks:
        return [schema.Gap(source_range=item.trimmed_range())]
    flat = _flattened([_plain(track, depth + 1) for track in tracks])
    return algorithms.track_trimmed_to_range(flat, item.trimmed_range()) if item.source_range else flat


def _flattened(tracks: Sequence[Any]) -> Any:
    from opentimelineio import algorithms

    # Flattening leaves out what is disabled, which a single track has to lose as well.
    return algorithms.flatten_stack(list(tracks))


def _note_fades(track: Any) -> None:
    """Write on each clip which frames it spans and how many transitions show beyond, for after the flattening."""
    from opentimelineio import schema

    items = list(track)
    for index, item in enumerate(items):
        if not isinstance(item, schema.Clip):
            continue
        shown = item.trimmed_range()
        first = round(shown.start_time.value)
        before = items[index - 1] if index else None
        after = items[index + 1] if index + 1 < len(items) else None
        item.metadata["samelight_cut"] = {
            "whole": [first, first + round(shown.duration.value)],
            "fades": [
                round(before.in_offset.value) if isinstance(before, schema.Transition) else 0,
                round(after.out_offset.value) if isinstance(after, schema.Transition) else 0,
            ],
        }

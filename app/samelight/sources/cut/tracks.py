"""The video tracks of a timeline made one, as OpenTimelineIO's own flattening has it.

A cut inside a cut takes the whole of its place: where it holds nothing, what lies under it does not show either.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from samelight.sources.cut.cut_files import sentence_of
from samelight.sources.errors import CaptureError

_MOST_NESTED = 40


def video_track(path: Path, timeline: Any) -> Any:
    """One track of clips and gaps that shows what the timeline shows; transitions are noted on the clips.

    Raises `CaptureError` for a timeline without a video track, and for tracks that cannot be laid over each other.
    """
    tracks = [track for track in _video_tracks(timeline.tracks) if track.enabled]
    if not any(len(track) for track in tracks):
        raise CaptureError(path, "a video track with clips", "none")
    try:
        aligned = (
            _by_record_time(tracks) if path.suffix.lower() == ".edl" else [_ranged(track) for track in tracks]
        )
        return _flattened([_plain(track, 0) for track in aligned])
    except CaptureError:
        raise
    except Exception as error:  # noqa: BLE001 - the library raises a dozen kinds
        raise CaptureError(path, "tracks that lie over each other", sentence_of(error)) from None


def _video_tracks(stack: Iterable[Any]) -> list[Any]:
    """The video tracks of a stack, lowest first; what lies in it without a track has one of its own."""
    from opentimelineio import schema

    found = []
    for one in stack:
        if not isinstance(one, schema.Track):
            holder = schema.Track("", kind=schema.TrackKind.Video)
            holder.append(one.deepcopy())
            found.append(holder)
        elif one.kind == schema.TrackKind.Video:
            found.append(one)
    return found


def _by_record_time(tracks: Sequence[Any]) -> list[Any]:
    """The tracks of an .edl with their starts told by gaps: its adapter starts each at its first event and keeps the record time,
    negative, as the start of the track's own range."""
    from opentimelineio import opentime, schema

    starts = [track.source_range.start_time if track.source_range is not None else None for track in tracks]
    records = [-start.value if start is not None and start.value < 0 else 0.0 for start in starts]
    aligned = []
    for track, start, record in zip(tracks, starts, records, strict=True):
        made = track.deepcopy()
        made.source_range = None
        if start is not None and record > min(records):
            none, length = (opentime.RationalTime(value, start.rate) for value in (0, record - min(records)))
            made.insert(0, schema.Gap(source_range=opentime.TimeRange(none, length)))
        aligned.append(made)
    return aligned


def _ranged(track: Any) -> Any:
    """A track within the range that it states of itself."""
    made = track.deepcopy()
    made.source_range = None
    return made if track.source_range is None else _within(made, track.source_range)


def _within(track: Any, shown: Any) -> Any:
    """A range of a track, with gaps where it goes beyond what the track holds, before its start as well."""
    from opentimelineio import algorithms, opentime, schema

    rate = shown.duration.rate
    held = track.duration()
    start, end = shown.start_time, shown.end_time_exclusive()
    none = opentime.RationalTime(0, rate)
    first, last = max(start, none), min(end, held)
    made = schema.Track(track.name, kind=track.kind)
    if last <= first:  # nothing of it shows
        made.append(schema.Gap(source_range=opentime.TimeRange(none, shown.duration)))
        return made
    pieces = algorithms.track_trimmed_to_range(
        track, opentime.range_from_start_end_time(first, last)
    )  # kept, since iterating a track does not keep it
    if first > start:
        made.append(schema.Gap(source_range=opentime.TimeRange(none, first - start)))
    for piece in pieces:
        made.append(piece.deepcopy())
    if last < end:
        made.append(schema.Gap(source_range=opentime.TimeRange(none, end - last)))
    return made


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
    from opentimelineio import schema

    if not item.enabled:
        return [schema.Gap(source_range=item.trimmed_range())]
    tracks = [one for one in _video_tracks(item if isinstance(item, schema.Stack) else [item]) if one.enabled]
    if not tracks:
        return [_black(item.trimmed_range())]
    ranged = tracks if isinstance(item, schema.Track) else [_ranged(track) for track in tracks]
    flat = _flattened([_plain(track, depth + 1) for track in ranged])
    shown = flat if item.source_range is None else _within(flat, item.trimmed_range())
    return [_black(one.trimmed_range()) if isinstance(one, schema.Gap) else one for one in shown]


def _black(shown: Any) -> Any:
    """What shows nothing and hides what lies under it."""
    from opentimelineio import schema

    return schema.Clip("", media_reference=schema.GeneratorReference("black", "black"), source_range=shown)


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

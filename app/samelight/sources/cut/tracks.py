"""The video tracks of a timeline made one, as OpenTimelineIO's own flattening has it.

A cut inside a cut takes the whole of its place: where it holds nothing, what lies under it does not show either.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any, NamedTuple

from samelight.sources.cut.cut_files import sentence_of
from samelight.sources.errors import CaptureError

_MOST_NESTED = 40
_NOTED = "samelight_cut"


class OnTrack(NamedTuple):
    """A clip or a gap of the track that shows. `whole` are the clip's first frame and the one after its last before others were
    laid over it, `fades` the frames that transitions show beyond these; None of a gap."""

    item: Any
    whole: tuple[int, int] | None = None
    fades: tuple[int, int] = (0, 0)


def video_track(path: Path, timeline: Any) -> list[OnTrack]:
    """The clips and gaps that show of a timeline, in their order; transitions are noted on the clips. They belong to the timeline,
    which has to outlive them.

    Raises `CaptureError` for a timeline without a video track, and for tracks that cannot be laid over each other.
    """
    tracks = [track for track in _video_tracks(timeline.tracks) if track.enabled]
    if not any(len(track) for track in tracks):
        raise CaptureError(path, "a video track with clips", "none")
    is_edl = path.suffix.lower() == ".edl"
    try:
        if len(tracks) == 1 and (is_edl or tracks[0].source_range is None) and _shows_as_it_is(tracks[0]):
            return [one for one in _placed(list(tracks[0])) if not _is_transition(one.item)]
        aligned = _by_record_time(tracks) if is_edl else [_ranged(track) for track in tracks]
        flat = _flattened([_plain(track, 0) for track in aligned])  # kept, since iterating a track does not
        return [_as_noted(item) for item in flat]
    except CaptureError:
        raise
    except Exception as error:  # noqa: BLE001 - the library raises a dozen kinds
        raise CaptureError(path, "tracks that lie over each other", sentence_of(error)) from None


def _shows_as_it_is(track: Any) -> bool:
    """Whether nothing of a track is switched off or inside another, so that laying it over nothing would only copy it."""
    from opentimelineio import schema

    flat = (schema.Clip, schema.Gap)
    return all(_is_transition(item) or (isinstance(item, flat) and item.enabled) for item in track)


def _is_transition(item: Any) -> bool:
    from opentimelineio import schema

    return isinstance(item, schema.Transition)


def _as_noted(item: Any) -> OnTrack:
    noted = item.metadata.get(_NOTED)
    return OnTrack(item) if noted is None else OnTrack(item, tuple(noted["whole"]), tuple(noted["fades"]))


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
        if _is_transition(item):
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
    for item, whole, fades in _placed(list(track)):
        if whole is not None:
            item.metadata[_NOTED] = {"whole": list(whole), "fades": list(fades)}


def _placed(items: Sequence[Any]) -> Iterator[OnTrack]:
    """The items of a track with the frames that each clip spans, and how many transitions show beyond."""
    from opentimelineio import schema

    for index, item in enumerate(items):
        if not isinstance(item, schema.Clip):
            yield OnTrack(item)
            continue
        shown = item.trimmed_range()
        first = round(shown.start_time.value)
        before = items[index - 1] if index else None
        after = items[index + 1] if index + 1 < len(items) else None
        fades = (
            round(before.in_offset.value) if isinstance(before, schema.Transition) else 0,
            round(after.out_offset.value) if isinstance(after, schema.Transition) else 0,
        )
        yield OnTrack(item, (first, first + round(shown.duration.value)), fades)

"""A cut from an .otio or CMX 3600 .edl file: which shots stand in it, in which order, and which of their frames.

Where several video tracks lie over each other the topmost one that is enabled shows, as OpenTimelineIO's own
flattening has it. Transitions show more of a shot than its cut points say.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from samelight.sources.cut.cut_files import read_timeline
from samelight.sources.cut.tracks import OnTrack, video_track
from samelight.sources.errors import CaptureError

_FURTHEST = 1e9
"""Frames; a longer cut, or a later timecode, is a damaged number."""


@dataclass(frozen=True, slots=True)
class Use:
    """One use of a shot in the cut.

    `start` is its first frame in the cut, from 0, at the cut's rate; `first` and `last` are the frames of the shot
    between its cut points, both in the cut, at `rate`. `fades` are the frames that transitions show beyond them, before
    and after. `handles` are the frames of media beyond the cut points, before and after, None where that is not known.
    `speed` is how many of the shot's frames pass in one of the cut.
    """

    clip: str
    reel: str
    start: int
    first: int
    last: int
    rate: float
    fades: tuple[int, int] = (0, 0)
    handles: tuple[int | None, int | None] = (None, None)
    speed: float = 1.0

    @property
    def frames(self) -> int:
        """How many frames of the shot stand between its cut points."""
        return self.last - self.first + 1

    @property
    def seen(self) -> tuple[int, int]:
        """The first and last frame of the shot that the cut shows, transitions included."""
        return self.first - self.fades[0], self.last + self.fades[1]


@dataclass(frozen=True, slots=True)
class Cut:
    """A cut as a list of uses. `gaps` are stretches with nothing in them: first frame in the cut, and length."""

    path: Path
    title: str
    rate: float
    uses: tuple[Use, ...]
    gaps: tuple[tuple[int, int], ...]
    frames: int

    def clips(self) -> tuple[str, ...]:
        """Every clip once, in the order of first use."""
        return tuple(dict.fromkeys(use.clip for use in self.uses))

    def repeated(self) -> tuple[str, ...]:
        """The clips that are used more than once."""
        counts = Counter(use.clip for use in self.uses)
        return tuple(clip for clip, count in counts.items() if count > 1)

    def of(self, clips: Iterable[str]) -> tuple[Use, ...]:
        """The uses of some clips."""
        wanted = set(clips)
        return tuple(use for use in self.uses if use.clip in wanted)


def read_cut(path: Path, frame_rate: float = 24.0) -> Cut:
    """Read a cut; `frame_rate` counts for an .edl, which does not state its own.

    A clip goes by its name, a clip of an .edl without one by its reel. Raises `CaptureError` for a file that is no
    cut.
    """
    timeline = read_timeline(path, frame_rate)
    track = video_track(path, timeline)
    uses: list[Use] = []
    gaps: list[tuple[int, int]] = []
    rate = _rate(track) or frame_rate
    at = 0.0
    for placed in track:
        item = placed.item
        length = _number(path, item, item.trimmed_range().duration.rescaled_to(rate))
        start, at = round(at), at + length
        if _is_gap(item):
            if length > 0:
                gaps.append((start, round(at) - start))
            continue
        use = _use(path, placed, start)
        if uses and _goes_on(uses[-1], use):
            uses[-1] = replace(
                uses[-1],
                last=use.last,
                fades=(uses[-1].fades[0], use.fades[1]),
                handles=(uses[-1].handles[0], use.handles[1]),
            )
        else:
            uses.append(use)
    return Cut(path, str(timeline.name or path.stem), rate, tuple(uses), tuple(gaps), round(at))


def _rate(track: Iterable[OnTrack]) -> float | None:
    rates = (float(one.item.trimmed_range().duration.rate) for one in track)
    return next((rate for rate in rates if 0 < rate < 1e6), None)


def _number(path: Path, item: Any, time: Any) -> float:
    value = float(time.value)
    if not (0 < time.rate < 1e6 and -_FURTHEST < value < _FURTHEST):
        raise CaptureError(path, "a time in frames", f"{value:g} at a rate of {time.rate:g}", path=item.name)
    return value


def _is_gap(item: Any) -> bool:
    from opentimelineio import schema

    if isinstance(item, schema.Gap):
        return True
    media = getattr(item, "media_reference", None)
    return isinstance(media, schema.GeneratorReference) and media.generator_kind == "black"


def _use(path: Path, placed: OnTrack, start: int) -> Use:
    clip = placed.item
    shown = clip.trimmed_range()
    rate = float(shown.duration.rate)
    speed = _speed(clip)
    first = round(_number(path, clip, shown.start_time))
    length = max(1, round(_number(path, clip, shown.duration) * abs(speed)))
    # A piece of a clip that lies under another has that clip's transitions only at the clip's own ends.
    whole, fades = placed.whole or (first, first + length), placed.fades
    reel = clip.metadata.get("cmx_3600", {}).get("reel", "")
    return Use(
        clip=_name(path, clip, str(reel)),
        reel=str(reel),
        start=start,
        first=first,
        last=first + length - 1,
        rate=rate,
        fades=(
            int(fades[0]) if first == whole[0] else 0,
            int(fades[1]) if first + round(float(shown.duration.value)) == whole[1] else 0,
        ),
        handles=_handles(clip, first, first + length),
        speed=speed,
    )


def _name(path: Path, clip: Any, reel: str) -> str:
    name = str(clip.name or "").strip()
    # Where an .edl names no clip, its adapter gives the number of the event.
    if path.suffix.lower() == ".edl" and name.isdecimal() and reel:
        return reel.strip()
    return name or "unnamed"


def _speed(clip: Any) -> float:
    from opentimelineio import schema

    for effect in clip.effects:
        if isinstance(effect, schema.LinearTimeWarp):  # a freeze frame is one of speed 0
            return float(effect.time_scalar)
    return 1.0


def _handles(clip: Any, first: int, end: int) -> tuple[int | None, int | None]:
    media = clip.media_reference
    there = media.available_range if media is not None else None
    if there is None:
        return None, None
    start = float(there.start_time.value)
    if not (-_FURTHEST < start < _FURTHEST and 0 <= float(there.duration.value) < _FURTHEST):
        return None, None
    return first - round(start), round(start + float(there.duration.value)) - end


def _goes_on(before: Use, use: Use) -> bool:
    """Whether a use is the rest of the one before: a clip that was cut in two, or lay under nothing."""
    same = (before.clip, before.reel, before.rate, before.speed) == (use.clip, use.reel, use.rate, use.speed)
    touching = use.first == before.last + 1 and not before.fades[1] and not use.fades[0]
    return same and touching and before.speed == 1.0 and use.start == before.start + before.frames


_ENDING = re.compile(r"\.\w{1,5}\Z")


class ShotNames:
    """The names of a sequence's shots, among which that of a clip is looked up."""

    def __init__(self, shots: Iterable[str]) -> None:
        self._shots = dict.fromkeys(shots)
        self._spelled: dict[str, list[str]] = {}
        for shot in self._shots:
            self._spelled.setdefault(shot.lower(), []).append(shot)
        self._longest_first = sorted({len(name) for name in self._spelled}, reverse=True)

    def of(self, clip: str) -> str | None:
        """The shot that a clip is of: the one of its name, else the longest that its name begins with as a word.

        >>> names = ShotNames(["HB_01", "HB_010"])
        >>> names.of("HB_010_comp_v003.mov"), names.of("hb_01.exr"), names.of("HB_0100")
        ('HB_010', 'HB_01', None)
        """
        if clip in self._shots:
            return clip
        stem = _ENDING.sub("", clip)
        if stem in self._shots:
            return stem
        lowered = clip.lower()
        for size in self._longest_first:
            for shot in self._spelled.get(lowered[:size], ()) if size <= len(lowered) else ():
                if not clip[len(shot) : len(shot) + 1].isalnum():
                    return shot
        return None

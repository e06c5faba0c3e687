"""Measuring the marks of a shot in its frame."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path

from samelight.drift.computed.in_frame import region_of
from samelight.drift.computed.moments import first_frame
from samelight.light.framing import Region
from samelight.sheets.errors import SamelightError
from samelight.sheets.frames import FOLDER as FRAMES
from samelight.sheets.frames import MEASURED, step_of
from samelight.sheets.measured import FOLDER, MeasuredFrame, MeasuredMark, file_of
from samelight.sheets.plain_files import digest_of
from samelight.sheets.sheet import Sheet
from samelight.sheets.trees import LARGEST_FILE
from samelight.sheets.vocabulary import LIT
from samelight.sheets.writing import write_new
from samelight.sources.errors import CaptureError
from samelight.sources.limits import PICTURE
from samelight.sources.pictures.measuring import FrameHeader, Parted, frame_figures, frame_header
from samelight.sources.pictures.reduced import LARGEST, UnreadablePictureError
from samelight.sources.trial import tried

_NUMBERED = re.compile(r"(?P<shot>.+)[._](?P<frame>-?[0-9]{1,9})\Z")
_SAME_MOMENT = 2
"""Seconds. A frame that was written this shortly before its sheet may have been written after it."""


class FrameError(SamelightError):
    """A frame that cannot be measured; the message is whole."""


FrameFile = tuple[Path, float | None]
"""An EXR frame, and which frame it is where its name says so."""


def frames_in(folder: Path) -> dict[str, FrameFile]:
    """The EXR frame of each shot of a sequence folder by the shot's name: `SHOT.exr`, else the first of `SHOT.1001.exr` and so on.
    Raises `FrameError` where the folder cannot be read."""
    return {shot: frames[0] for shot, frames in all_frames_in(folder).items()}


def all_frames_in(folder: Path) -> dict[str, list[FrameFile]]:
    """All EXR frames of each shot, in order: one without a number is the shot's only one. Raises as `frames_in`."""
    try:
        paths = sorted((folder / FRAMES).iterdir())
    except FileNotFoundError:
        return {}
    except OSError as error:
        raise FrameError(f"the folder {FRAMES} cannot be read: {error.strerror or error}") from None
    single: dict[str, list[FrameFile]] = {}
    numbers: dict[str, dict[float, Path]] = {}
    for path in paths:
        if path.suffix.lower() != MEASURED:
            continue
        stem, numbered = path.name[:-4], _NUMBERED.match(path.name[:-4])
        single[stem] = [(path, None)]
        if numbered is not None:  # unless it is the name of a shot, which may end in figures as well
            numbers.setdefault(numbered["shot"], {}).setdefault(float(numbered["frame"]), path)
    several: dict[str, list[FrameFile]] = {
        shot: [(of_shot[number], number) for number in sorted(of_shot)] for shot, of_shot in numbers.items()
    }
    return several | single


EVERY, ENDS = "all", "ends"


def some_of(frames: Sequence[FrameFile], which: str) -> list[FrameFile]:
    """The first, middle and last of some frames (`ends`), `all` of them, or the first and every so-manieth after it by their places.
    Raises ValueError for anything else.

    >>> [number for _, number in some_of([(Path(), float(one)) for one in range(9)], "ends")]
    [0.0, 4.0, 8.0]
    >>> [number for _, number in some_of([(Path(), float(one)) for one in range(9)], "3")]
    [0.0, 3.0, 6.0]
    """
    if which == ENDS:
        return [frames[at] for at in sorted({0, len(frames) // 2, len(frames) - 1})]
    step = 1 if which == EVERY else int(which)
    if step < 1:
        raise ValueError("every frame at most")
    return list(frames[::step])


def missing_in(frames: Sequence[FrameFile]) -> list[range]:
    """The runs of frames that numbered frames leave out, by the step in which most of them follow each other. A run may be any length:
    one frame with a slip in its number makes it millions.

    >>> missing_in([(Path(), float(one)) for one in (1001, 1003, 1005, 1011, 1013)])
    [range(1007, 1011, 2)]
    """
    numbers = [int(number) for _, number in frames if number is not None]
    step = step_of(numbers)
    if step is None:
        return []
    return [
        range(before + step, after, step)
        for before, after in pairwise(numbers)
        if after - before > step and (after - before) % step == 0
    ]


def is_known(known: list[MeasuredFrame], sheet: Sheet, frame: Path) -> bool:
    """Whether a frame was measured by a sheet, both as they stand. Frames of a shot in which nothing moves may be one to the last bit."""
    digests = digest_of(sheet.path, LARGEST_FILE), digest_of(frame, LARGEST)
    return None not in digests and any(
        (one.sheet, one.sha256) == digests and one.picture.rpartition("/")[2] == frame.name for one in known
    )


def measure_shot(folder: Path, sheet: Sheet, frame: Path, number: float | None = None) -> MeasuredFrame:
    """What a frame shows of the marks of its shot's sheet; `number` is the frame that it is, by default the shot's first.

    Raises `FrameError`, with the frame's name and the reason.
    """
    sheet_digest, digest = digest_of(sheet.path, LARGEST_FILE), digest_of(frame, LARGEST)
    if sheet_digest is None or digest is None:
        raise FrameError(f"{frame.name} cannot be measured: it or its sheet {sheet.path.name} cannot be read")
    at = first_frame(sheet) if number is None else number
    try:
        header: FrameHeader = tried(frame, PICTURE, frame_header, frame)
        marks = sheet.sections.get("marks", {})
        places = {mark: region_of(sheet, mark, at, header.shape) for mark in marks}
        regions = {mark: place for mark, place in places.items() if isinstance(place, Region)}
        space = sheet.conventions.working_space
        parted: Parted = tried(
            frame, PICTURE, frame_figures, frame, regions, space, _mattes(sheet), _lights(sheet)
        )
        written = round(frame.stat().st_mtime, 3)
        published = sheet.path.stat().st_mtime
    except UnreadablePictureError as error:
        raise FrameError(f"{frame.name} cannot be measured: {error}") from None
    except CaptureError as error:
        raise FrameError(f"{frame.name} cannot be measured: it is {error.fault.found}") from None
    except OSError as error:
        raise FrameError(f"{frame.name} cannot be measured: {error.strerror or error}") from None
    found: dict[str, MeasuredMark] = {}
    unseen = {mark: place for mark, place in places.items() if isinstance(place, str)}
    for mark, figures in parted.figures.items():
        if isinstance(figures, str):
            unseen[mark] = figures
        else:
            found[mark] = MeasuredMark(
                regions[mark], figures, parted.lights.get(mark, {}), parted.wholes.get(mark)
            )
    return MeasuredFrame(
        sheet.shot,
        sheet.version,
        sheet_digest,
        frame.relative_to(folder).as_posix(),
        digest,
        written,
        at,
        header.shape[:2],
        parted.colours,
        header.made_of,
        _is_older(header, sheet, sheet_digest, published - written),
        found,
        unseen,
    )


def _mattes(sheet: Sheet) -> dict[str, str]:
    """The mattes that marks name."""
    stated = {mark: group.get("matte") for mark, group in sheet.sections.get("marks", {}).items()}
    return {mark: matte for mark, matte in stated.items() if isinstance(matte, str)}


def _lights(sheet: Sheet) -> tuple[str, ...]:
    """The lights and environments whose layers are looked for."""
    return tuple(name for section in LIT for name in sheet.sections.get(section, {}))


def _is_older(header: FrameHeader, sheet: Sheet, digest: str, seconds: float) -> bool:
    """Whether a frame shows another sheet: by what it says of itself, else because it was there so many seconds before."""
    if header.made_of_sheet:
        return header.made_of_sheet != digest
    if header.made_of is not None:
        return header.made_of != sheet.version
    return seconds > _SAME_MOMENT


def keep(folder: Path, measured: MeasuredFrame) -> Path:
    """Write what was measured beside the sheets, unless the same is there already; where. Raises `WriteError`."""
    name, text = file_of(measured)
    path = folder / FOLDER / name
    if not path.exists():
        write_new({path: text})
    return path

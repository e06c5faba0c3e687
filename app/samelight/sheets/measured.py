"""What was measured in a shot's frame: a small file beside the sheets, so that a check needs no frames.

`measured/SHOT.v002.1a2b3c4d5e6f.json` holds what one frame shows of the marks of one version of a sheet. Such files are only ever
added; their names follow from what they hold, so that what was measured in several places merges.
"""

from __future__ import annotations

import hashlib
import math
import re
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from samelight.light.framing import Region
from samelight.light.region_figures import BLACK, STOPS, Figures
from samelight.sheets.errors import Faults, Found, Place
from samelight.sheets.trees import read_document
from samelight.sheets.writing import json_text

FOLDER = "measured"
FORMAT = 1
KEY = "samelight_measured"
NAMED = re.compile(r"(?P<shot>.+)\.v(?P<version>[0-9]+)\.(?P<digest>[0-9a-f]{12})\.json\Z")
LAYERS_AGREE = 0.05
"""Stops that the layers of lights may add up to beside the picture: what halves and a denoiser leave."""
_LARGEST = 1e6
"""No figure, pixel or version is beyond it."""


@dataclass(frozen=True, slots=True)
class MeasuredMark:
    """A mark in a frame: where it was looked at, in pixels of the display window, and what was measured there.

    `lights` are the means of the layers of lights there, in stops of luminance, and `mean` that of the picture itself; without
    such layers there are neither.
    """

    region: Region
    figures: Figures
    lights: Mapping[str, float] = field(default_factory=dict)
    mean: float | None = None

    @property
    def layers_off(self) -> float | None:
        """By how many stops the layers of lights add up to more than the picture; None without layers, or without light."""
        total = math.fsum(math.pow(2.0, stops) for stops in self.lights.values() if stops > BLACK)
        if self.mean is None or self.mean <= BLACK or total <= 0.0:
            return None
        return round(math.log2(total) - self.mean, STOPS)

    @property
    def layers_words(self) -> str:
        """That the layers of lights add up to more or less than the picture, beyond `LAYERS_AGREE`; empty where they do not."""
        off = self.layers_off
        if off is None or abs(off) <= LAYERS_AGREE:
            return ""
        return f"the layers add up to {abs(off):.2f} stops {'more' if off > 0.0 else 'less'} than the picture"


@dataclass(frozen=True, slots=True)
class MeasuredFrame:
    """What one frame shows of the marks of one sheet.

    `version` and `sheet` are the sheet's version and the SHA-256 of its file, `picture` and `sha256` the frame's file, by the way
    there from the sequence folder, and its hash. `written` is when that was last written, in seconds since 1970, `frame` the frame
    that it shows, `size` the pixels of its display window. `colours` says what its numbers were taken as. `made_of` is the version
    of the sheet that the frame says it was rendered from, None where it does not; `is_older` whether it is older than the sheet by
    that or, where it does not say, by its time. `unseen` are the marks that were not measured, each with why.
    """

    shot: str
    version: int
    sheet: str
    picture: str
    sha256: str
    written: float
    frame: float
    size: tuple[int, int]
    colours: str
    made_of: int | None
    is_older: bool
    marks: Mapping[str, MeasuredMark]
    unseen: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Witness:
    """What was measured of a shot, and whether that was by its sheet as it stands now."""

    measured: MeasuredFrame
    is_current: bool
    frames: tuple[MeasuredFrame, ...] = ()
    """All frames that were measured by this sheet and are no older, in order, where there are several."""

    @property
    def is_old(self) -> bool:
        """Whether the frame shows what an earlier sheet said, or was measured by one."""
        return self.measured.is_older or not self.is_current

    @property
    def age(self) -> str:
        """In words, why the frame does not show what the shot's sheet says now; empty where it does."""
        of, made_of = self.measured.version, self.measured.made_of
        if not self.is_current:
            return f"the frame was measured by version {of} of the sheet, which was changed since"
        if self.measured.is_older and made_of is not None and made_of != of:
            return f"the frame was rendered from version {made_of} of the sheet, and not from version {of}"
        return f"the frame is older than version {of} of the sheet" if self.measured.is_older else ""


def file_of(measured: MeasuredFrame) -> tuple[str, str]:
    """The name of the file that holds it, and its text."""
    data: dict[str, Any] = {KEY: FORMAT, **asdict(measured)}
    data["size"] = list(measured.size)
    data["marks"] = {
        name: {
            "region": list(one.region[:4]),
            "round": one.region.is_round,
            **one.figures._asdict(),
            "lights": dict(one.lights),
            "mean": one.mean,
        }
        for name, one in measured.marks.items()
    }
    data["unseen"] = dict(measured.unseen)
    text = json_text(data)
    digest = hashlib.sha256(text.encode()).hexdigest()[:12]
    return f"{measured.shot}.v{measured.version:03d}.{digest}.json", text


def read_measured(path: Path) -> MeasuredFrame:
    """What such a file holds. Raises `SheetError` with every fault of it."""
    document = read_document(path)
    reads = _Reads(document.data, document.faults)
    if not isinstance(document.data, dict):
        document.faults.add((), "keys and values", document.data)
        document.faults.raise_if_any()
    if document.data.get(KEY) != FORMAT:
        document.faults.add((KEY,), f"{FORMAT}, the format of what was measured", document.data.get(KEY))
        document.faults.raise_if_any()
    size = reads.numbers(("size",), 2)
    if min(size) < 1 and not len(document.faults):
        document.faults.add(("size",), "how many pixels it has each way", list(size))
    found = MeasuredFrame(
        reads.text("shot"),
        int(reads.number(("version",))),
        reads.text("sheet"),
        reads.text("picture"),
        reads.text("sha256"),
        reads.number(("written",), most=1e12),
        reads.number(("frame",)),
        (int(size[0]), int(size[1])),
        reads.text("colours"),
        None if document.data.get("made_of") is None else int(reads.number(("made_of",))),
        document.data.get("is_older") is True,
        {name: reads.mark(name) for name in reads.names("marks")},
        {name: reads.text("unseen", name) for name in reads.names("unseen")},
    )
    document.faults.raise_if_any()
    return found


class _Reads:
    """Reads what stands at places of a tree, noting faults; what is at fault reads as nothing."""

    def __init__(self, data: Any, faults: Faults) -> None:
        self._data, self._faults = data, faults

    def _at(self, place: Place) -> Any:
        value = self._data
        for step in place:
            value = value.get(step) if isinstance(value, dict) else None
        return value

    def text(self, *place: str) -> str:
        value = self._at(place)
        if isinstance(value, str):
            return value
        self._faults.add(place, "text", Found("none") if value is None else value)
        return ""

    def number(self, place: Place, most: float = _LARGEST) -> float:
        value = self._at(place)
        if isinstance(value, int | float) and not isinstance(value, bool) and abs(value) <= most:
            return float(value)
        self._faults.add(place, "a number", Found("none") if value is None else value)
        return 0.0

    def numbers(self, place: Place, size: int) -> tuple[float, ...]:
        value = self._at(place)
        if (
            isinstance(value, list)
            and len(value) == size
            and all(
                isinstance(one, int | float) and not isinstance(one, bool) and abs(one) <= _LARGEST
                for one in value
            )
        ):
            return tuple(float(one) for one in value)
        self._faults.add(place, f"a list of {size} numbers", Found("none") if value is None else value)
        return (0.0,) * size

    def names(self, *place: str) -> list[str]:
        value = self._at(place)
        if isinstance(value, dict):
            return list(value)
        self._faults.add(place, f"{place[-1]} by name", Found("none") if value is None else value)
        return []

    def mark(self, name: str) -> MeasuredMark:
        place = ("marks", name)
        left, top, right, bottom = self.numbers((*place, "region"), 4)
        values = {leaf: self.number((*place, leaf), most=1e9) for leaf in Figures._fields}
        stops = (values[leaf] for leaf in ("level", "spread", "u", "v", "side", "noise"))
        counts = (int(values[leaf]) for leaf in ("pixels", "dark", "clipped", "not_numbers"))
        level, spread, u, v, side, noise = stops
        return MeasuredMark(
            Region(left, top, right, bottom, self._at((*place, "round")) is True),
            Figures(level, spread, u, v, side, noise, *counts),
            {light: self.number((*place, "lights", light)) for light in self.names(*place, "lights")},
            None if self._at((*place, "mean")) is None else self.number((*place, "mean")),
        )

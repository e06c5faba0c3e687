"""An opened scene with everything that reading its prims needs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from samelight.sources.remarks import Remarks
from samelight.sources.usd.colours import Colours
from samelight.sources.usd.files import Files
from samelight.sources.usd.links import Links
from samelight.sources.usd.space import StageSpace
from samelight.sources.usd.time import StageClock
from samelight.sources.usd.values import Attributes


@dataclass(frozen=True, slots=True)
class Scene:
    """The readers of one stage, which share its clock and its remarks."""

    stage: Any
    clock: StageClock
    space: StageSpace
    attributes: Attributes
    links: Links
    files: Files
    remarks: Remarks
    colours: Colours
    reads_pictures: bool = True
    """Whether it is looked at what textures hold."""


def scene_of(
    stage: Any,
    clock: StageClock,
    geometry: Iterable[Any],
    remarks: Remarks,
    readable: Sequence[Path] = (),
    *,
    reads_pictures: bool = True,
) -> Scene:
    """The readers of a stage; `geometry` are the paths of everything that can be lit, and in the folders `readable` files are
    read."""
    return Scene(
        stage,
        clock,
        StageSpace(stage, clock, remarks),
        Attributes(clock, remarks),
        Links(stage, geometry),
        Files(remarks, readable),
        remarks,
        Colours(stage, remarks),
        reads_pictures,
    )

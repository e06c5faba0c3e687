"""The pages of the lighters as one HTML file to print, on A4 or on letter: each lighter begins on a new sheet of paper."""

from __future__ import annotations

from dataclasses import dataclass

from samelight.reports.html_parts import printed
from samelight.reports.lighter_pages import HandOver, ShotPicture
from samelight.reports.signs import STATE_MARKS
from samelight.sequence.crew import NOBODY
from samelight.sequence.mark_regions import MarkRegion

_SMALLEST = 5.0
"""Pixels of a frame's picture: a mark that is smaller is drawn so large, from its middle to its edge."""


@dataclass(frozen=True, slots=True)
class MarkRing:
    """Where a mark is drawn, in pixels of the picture. `is_off` says that something was measured there that drifts."""

    x: float
    y: float
    across: float
    down: float
    is_round: bool
    is_off: bool
    says: str


def pages_html(handed: HandOver) -> str:
    """The document; it needs no network, no server and no script."""
    return printed("pages.html.j2", handed=handed, rings=rings, sign=STATE_MARKS.__getitem__, nobody=NOBODY)


def rings(picture: ShotPicture) -> list[MarkRing]:
    """The marks of a shot as they are drawn on its picture."""
    return [_ring(region, picture) for region in picture.regions]


def _ring(region: MarkRegion, picture: ShotPicture) -> MarkRing:
    wide, high = picture.width, picture.height
    across = max((region.right - region.left) * wide / 2.0, _SMALLEST)
    down = max((region.bottom - region.top) * high / 2.0, _SMALLEST)
    x, y = (region.left + region.right) * wide / 2.0, (region.top + region.bottom) * high / 2.0
    return MarkRing(x, y, across, down, region.is_round, region.severity > 0.0, region.says)

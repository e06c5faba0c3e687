"""Where points of the u'v' diagram lie on the screen: one scale both ways, round what is to be seen."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QColor

from samelight.light.colour import STEP, planckian_uv
from samelight.light.primaries import rgb_of
from samelight.reports.colour_cloud import Cloud
from samelight.sources.pictures.view_transform import srgb_codes

SMALLEST = 12 * STEP
"""What is shown at the least, across and up."""
_MARGIN = 0.08
_TICKS = (1.0, 2.0, 5.0)
KELVINS = (1800, 2200, 2700, 3200, 4000, 5000, 6500, 9000, 15000)
"""Temperatures of a black body that are named on its line."""


@dataclass(frozen=True, slots=True)
class Chart:
    """A part of the diagram, its middle and how much of it is seen across a pixel, in a rectangle of the screen."""

    place: QRectF
    u: float
    v: float
    a_pixel: float

    def at(self, u: float, v: float) -> QPointF:
        """The place of a chromaticity on the screen."""
        middle = self.place.center()
        return QPointF(middle.x() + (u - self.u) / self.a_pixel, middle.y() - (v - self.v) / self.a_pixel)

    def of(self, point: QPointF) -> tuple[float, float]:
        """The chromaticity at a place on the screen."""
        middle = self.place.center()
        return (
            self.u + (point.x() - middle.x()) * self.a_pixel,
            self.v - (point.y() - middle.y()) * self.a_pixel,
        )

    def nearer(self, point: QPointF, times: float) -> Chart:
        """So many times larger, with what lies at a place still there."""
        u, v = self.of(point)
        return Chart(self.place, u + (self.u - u) / times, v + (self.v - v) / times, self.a_pixel / times)

    def moved(self, by: QPointF) -> Chart:
        """Moved by so many pixels."""
        return Chart(self.place, self.u - by.x() * self.a_pixel, self.v + by.y() * self.a_pixel, self.a_pixel)


def chart_of(cloud: Cloud, place: QRectF) -> Chart:
    """All points of a cloud with their rings, as large as they fit."""
    us = [point.u for point in cloud.points]
    vs = [point.v for point in cloud.points]
    for ring in cloud.rings:
        us += [ring.u - ring.radius, ring.u + ring.radius]
        vs += [ring.v - ring.radius, ring.v + ring.radius]
    if not us:
        return Chart(place, 0.1978, 0.4683, SMALLEST / max(place.width(), 1.0))
    wide, high = (max(max(one) - min(one), SMALLEST) * (1.0 + 2.0 * _MARGIN) for one in (us, vs))
    a_pixel = max(wide / max(place.width(), 1.0), high / max(place.height(), 1.0))
    return Chart(place, (min(us) + max(us)) / 2.0, (min(vs) + max(vs)) / 2.0, a_pixel)


def ticks(least: float, most: float, about: int) -> list[float]:
    """Round numbers between two, about so many.

    >>> ticks(0.193, 0.221, 4)
    [0.2, 0.21, 0.22]
    """
    wanted = (most - least) / max(about, 1)
    power = math.pow(10.0, math.floor(math.log10(wanted)))
    step = next((one * power for one in _TICKS if one * power >= wanted), 10.0 * power)
    first, last = math.ceil(least / step), math.floor(most / step)
    return [round(number * step, 10) for number in range(first, last + 1)]


def black_body() -> Sequence[tuple[float, float]]:
    """The line of black bodies in u'v', from 1,500 K to 40,000 K."""
    return [planckian_uv(1e6 / mired) for mired in range(25, 670, 10)]


@lru_cache(maxsize=4096)
def colour_of(u: float, v: float) -> QColor:
    """A chromaticity as a screen shows it, as bright as it can."""
    return QColor(*srgb_codes(np.array(rgb_of((u, v)))).tolist())

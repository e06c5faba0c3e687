"""Whether two shots are seen by one camera, so that a pixel of the one is the same thing in the other."""

from __future__ import annotations

import math

from samelight.drift.computed.in_frame import view_of
from samelight.drift.computed.moments import first_frame
from samelight.light.directions import angle_between
from samelight.light.framing import CameraView, Shape
from samelight.sequence.session import Session

NEAR = 1e-3
"""Metres, and shares of what a camera takes in, that are one camera."""
_TURNED = math.degrees(NEAR)


def cameras_apart(session: Session, shot: str, other: str, size: tuple[int, int]) -> str:
    """Why two shots are not seen by one camera at their first frames, in words; empty where they are. `size` is the pixels of the
    frames across and down."""
    if shot == other:
        return ""
    views: list[CameraView] = []
    for name in (shot, other):
        sheet = session.comparison.sheets.get(name)
        if sheet is None:
            return f"{name} has no sheet that can be read"
        view = view_of(sheet, first_frame(sheet), Shape(*size))
        if isinstance(view, str):
            return f"the camera of {name} is not known: {view}"
        views.append(view)
    return _apart(views[0], views[1], other)


def _apart(one: CameraView, two: CameraView, other: str) -> str:
    away = math.dist(one.position, two.position)
    if away > NEAR:
        return f"the camera of {other} stands {away:.2f} m away"
    turned = max(angle_between(one.direction, two.direction), angle_between(one.across, two.across))
    if turned > _TURNED:
        return f"the camera of {other} is turned by {turned:.1f} deg"
    if any(abs(a - b) > NEAR for a, b in zip(one.gate, two.gate, strict=True)):
        return f"the camera of {other} has another lens"
    return ""

"""Where a mark is in the picture of its shot, by the shot's sheet: a disk about it, or the rectangle that the sheet gives.

The camera's lens is its focal length and aperture, else its field of view; how a picture of another shape takes it in, the
sheet's render settings say. Where a mark cannot be looked at the reason is given in its place.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from samelight.light.directions import Vector, angle_between, is_lying
from samelight.light.framing import (
    EXPAND,
    HEAD,
    CameraView,
    Lens,
    Region,
    Shape,
    gate_of,
    lens_of_angles,
    lens_of_focal,
    spot_of,
    with_overscan,
)
from samelight.light.noise import figure
from samelight.light.rolling import across_at
from samelight.sheets.canonical import WHOLE
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Curve, Group, Roll, Static, as_vector

FEWEST = 6.0
"""Pixels across. A disk that is smaller holds too few of them to say anything."""
LEAST_IN_VIEW = 0.5
"""The share of a mark that the camera has to see past what stands before it: of less, most pixels would be of something else."""
_BEHIND_A_FACE, _BEHIND_A_SURFACE = 120.0, 89.0
"""Degrees between where a mark faces and the way to the camera beyond which the camera sees its back: of a head, which is round,
later than of a surface."""


def region_of(sheet: Sheet, mark: str, frame: float, shape: Shape) -> Region | str:
    """Where a mark is in a picture of a frame; what keeps it from being looked at, in words that go on after its name."""
    group = sheet.sections.get("marks", {}).get(mark)
    if group is None:
        return "the sheet has no such mark"
    stated = _at(group, "in_frame", frame)
    if isinstance(stated, tuple) and len(stated) == 4:
        return _large_enough(_stated(stated, shape))
    position, view = as_vector(_at(group, "position", frame)), view_of(sheet, frame, shape)
    if isinstance(view, str):
        return view
    if position is None:
        return "the sheet does not say where it is"
    spot = spot_of(position, radius_of(sheet, mark, frame), view)
    if spot is None:
        return "it is behind the camera"
    if not (0.0 <= spot.x < 1.0 and 0.0 <= spot.y < 1.0):
        return "it is outside of the frame"
    normal = as_vector(_at(group, "normal", frame))
    if normal is not None and _shows_its_back(normal, position, view.position):
        return "it faces away from the camera"
    if hidden := _hidden(group, frame):
        return hidden
    x, y = spot.x * shape.width, spot.y * shape.height
    wide, high = spot.wide * shape.width, spot.high * shape.height
    return _large_enough(_region(x - wide, y - high, x + wide, y + high, is_round=True))


def radius_of(sheet: Sheet, mark: str, frame: float) -> float:
    """Metres: the radius of the disk about a mark that is looked at."""
    radius = _number(sheet.sections.get("marks", {}).get(mark, {}), "radius", frame)
    return radius if radius is not None and radius > 0.0 else HEAD


def view_of(sheet: Sheet, frame: float, shape: Shape) -> CameraView | str:
    """The shot's camera at a frame as a picture of a shape has it; why there is none, in words."""
    camera = sheet.sections.get("camera", {}).get(WHOLE)
    if camera is None:
        return "the sheet has no camera"
    position, direction = (as_vector(_at(camera, leaf, frame)) for leaf in ("position", "direction"))
    if position is None or direction is None:
        return "the sheet does not say where the camera stands and looks to"
    if _at(camera, "projection", frame) == "orthographic":
        return "the camera is orthographic"
    roll = _at(camera, "roll", frame)
    turn = roll.degrees if isinstance(roll, Roll) else 0.0
    x, y, z = across_at(np.array([direction]), np.array([turn]))[0].tolist()
    try:
        lens = _lens(camera, frame)
    except ValueError:
        return "the sheet states neither focal length and aperture of the camera nor its field of view"
    aspect = shape.width * shape.pixel_aspect / shape.height
    overscan = _number(camera, "overscan", frame) or 0.0
    if not (math.isfinite(aspect) and aspect > 0.0 and overscan > -1.0):
        return "the shape of the picture cannot be told"
    gate = with_overscan(gate_of(lens, aspect, _policy(sheet)), overscan)
    return CameraView(position, direction, (x, y, z), gate)


def _lens(camera: Group, frame: float) -> Lens:
    focal, width, height, right, up = (
        _number(camera, f"{name}_mm", frame)
        for name in (
            "focal_length",
            "horizontal_aperture",
            "vertical_aperture",
            "horizontal_offset",
            "vertical_offset",
        )
    )
    if focal is not None and width is not None:
        return lens_of_focal(focal, width, height, right or 0.0, up or 0.0)
    return lens_of_angles(_number(camera, "fov", frame), _number(camera, "vertical_fov", frame))


def _policy(sheet: Sheet) -> str:
    """How the render settings fit the aperture to a picture."""
    settings: Mapping[str, Group] = sheet.sections.get("render", {})
    stated = (group.get("aspect_policy") for group in settings.values())
    return next((policy for policy in stated if isinstance(policy, str)), EXPAND)


def _shows_its_back(normal: Vector, position: Vector, camera: Vector) -> bool:
    way = tuple(to - at for to, at in zip(camera, position, strict=True))
    return angle_between(normal, way) > (_BEHIND_A_SURFACE if is_lying(normal) else _BEHIND_A_FACE)


def _hidden(group: Group, frame: float) -> str:
    """What hides most of a mark from the camera, in words; empty where enough of it is seen, and where its matte tells."""
    seen = _number(group, "in_view", frame)
    if seen is None or seen >= LEAST_IN_VIEW or "matte" in group:
        return ""
    by, share = group.get("covered_by"), f"{figure(seen * 100.0):g} %" if seen > 0.0 else "nothing"
    return f"it is hidden{f' by {by}' if isinstance(by, str) else ''}: the camera sees {share} of it"


def _stated(edges: Sequence[float], shape: Shape) -> Region:
    """A rectangle that a sheet gives: in pixels, or in shares of the picture where no number is above 1."""
    across, down = (shape.width, shape.height) if max(edges) <= 1.0 else (1, 1)
    left, top, right, bottom = edges
    return _region(left * across, top * down, right * across, bottom * down, is_round=False)


def _region(left: float, top: float, right: float, bottom: float, *, is_round: bool) -> Region:
    return Region(figure(left), figure(top), figure(right), figure(bottom), is_round)


def _large_enough(region: Region) -> Region | str:
    across, down = region.right - region.left, region.bottom - region.top
    if min(across, down) < FEWEST:
        return (
            f"it is too small in the frame: {across:.1f} x {down:.1f} pixels, of at least {FEWEST:g} each way"
        )
    return region


def _number(group: Group, leaf: str, frame: float) -> float | None:
    value = _at(group, leaf, frame)
    return value if isinstance(value, float) else None


def _at(group: Group, leaf: str, frame: float) -> Static | None:
    value = group.get(leaf)
    return value.at(frame) if isinstance(value, Curve) else value

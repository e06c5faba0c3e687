"""How much of its sky a light fills: form factors of Lambertian emitters, vectorised over rows.

Each `*_view` gives the projected solid angle in steradians, so that illuminance = luminance x view; divided
by pi it is the form factor of the heat-transfer handbooks. `to_centre` is the vector from the mark to the
light's centre; `normal` is the unit normal of the surface at the mark, whose horizon cuts the light. Arrays
have the shapes (n, 3) for vectors and (n,) for numbers, and broadcast. Nothing stands in the way of the
light. Cylinders have a module of their own.
"""

from collections.abc import Sequence

import numpy as np

from samelight.light.elementary import arccos, arctan2, cos, log, sin
from samelight.light.rows import Array, cross, lengths, level_across, projection, unit


def cap_view(cosine: Array, sine: Array) -> Array:
    """The view of a round patch of sky: a sphere, or the disc of the sun.

    `cosine` is of the angle between the normal and the patch's centre; `sine` (0..1) of the patch's half
    angle, radius over distance for a sphere. pi sine^2 cosine while the patch is wholly above the horizon;
    the closed form of a sphere cut by the horizon otherwise (Howell, A Catalog of Radiation Heat Transfer
    Configuration Factors, differential element to sphere; written from memory, checked by quadrature in the
    tests).

    >>> round(float(cap_view(np.array(1.0), np.array(0.5))), 6)
    0.785398
    """
    cosine, sine = np.broadcast_arrays(np.clip(cosine, -1.0, 1.0), np.clip(sine, 0.0, 1.0))
    whole = np.pi * sine**2 * np.maximum(cosine, 0.0)
    cut = (np.abs(cosine) < sine) & (sine > 1e-9)
    if not cut.any():
        return whole
    facing, edge = np.where(cut, cosine, 0.0), np.where(cut, sine, 1.0)
    level = np.sqrt(1.0 - facing**2)  # sine of the angle between normal and centre
    reach = np.sqrt(np.maximum(1.0 / edge**2 - 1.0, 0.0))
    turn = np.clip(-reach * facing / level, -1.0, 1.0)
    rest = np.sqrt(1.0 - turn**2)
    partial = edge**2 * (facing * arccos(turn) - reach * level * rest) + arctan2(level * rest, reach)
    return np.where(cut, np.maximum(partial, 0.0), whole)


def sphere_view(to_centre: Array, normal: Array, *, radius: Array) -> Array:
    """The view of a sphere that shines outwards; 0 inside it."""
    squared = projection(to_centre, to_centre)
    with np.errstate(invalid="ignore", divide="ignore"):
        distance = np.sqrt(squared)
        view = cap_view(projection(to_centre, normal) / distance, radius / distance)
    return np.where(distance > radius, view, np.where(np.isnan(distance + radius), np.nan, 0.0))


def disk_view(to_centre: Array, normal: Array, *, radius: Array, direction: Array) -> Array:
    """The view of a disk that shines to one side, along the unit vector `direction`.

    Lambert's contour integral, in closed form along the part of the circle that stands above the horizon,
    closed by the chord on the horizon.
    """
    height = projection(to_centre, direction)  # negative where the mark is lit
    flat = to_centre - height[..., None] * direction
    aside = lengths(flat)
    on_axis = aside <= 1e-12 * np.abs(height)
    outwards = np.where(on_axis[..., None], level_across(direction), unit(flat))
    along = cross(direction, outwards)

    constant = radius**2 * projection(normal, cross(outwards, along))
    with_cosine = radius * projection(normal, cross(to_centre, along))
    with_sine = -radius * projection(normal, cross(to_centre, outwards))
    squared, swing = projection(to_centre, to_centre) + radius**2, 2.0 * radius * aside

    start, end = _above_horizon(
        projection(normal, to_centre),
        radius * projection(normal, outwards),
        radius * projection(normal, along),
    )
    arc = _circle_integral((constant, with_cosine, with_sine), squared, swing, (start, end))

    def rim(angle: Array) -> Array:
        cosine, sine = cos(angle)[..., None], sin(angle)[..., None]
        point: Array = to_centre + radius[..., None] * (outwards * cosine + along * sine)
        return point

    view = np.abs(arc + _edge(rim(end), rim(start), normal)) / 2.0
    return np.where(height < 0.0, np.where(end > start, view, 0.0), np.where(np.isnan(height), np.nan, 0.0))


def _above_horizon(level: Array, cosine: Array, sine: Array) -> tuple[Array, Array]:
    """The arc of angles where level + cosine cos(angle) + sine sin(angle) > 0; empty (equal ends) where
    nowhere."""
    reach = np.sqrt(cosine**2 + sine**2)
    middle = arctan2(sine, cosine)
    with np.errstate(invalid="ignore", divide="ignore"):
        half = arccos(np.clip(-level / reach, -1.0, 1.0))
    half = np.where(reach > 0.0, half, np.where(level > 0.0, np.pi, 0.0))
    return middle - half, middle + half


def _circle_integral(
    numerator: tuple[Array, Array, Array], base: Array, swing: Array, span: tuple[Array, Array]
) -> Array:
    """The integral over a span of angles of (constant + p cos + q sin) / (base + swing cos)."""
    constant, with_cosine, with_sine = numerator
    start, end = span
    share = swing / base
    nearly_even = share < 1e-5
    safe = np.where(nearly_even, base * 0.5, swing)
    root = np.sqrt(np.maximum((base - safe) * (base + safe), 0.0))
    ratio = np.sqrt(np.maximum(base - safe, 0.0) / (base + safe))

    def inverse(angle: Array) -> Array:
        turns = np.floor((angle + np.pi) / (2.0 * np.pi))
        half = angle / 2.0 - np.pi * turns
        # arctan2 goes on smoothly where rounding puts the half angle just outside -pi/2..pi/2; tan would
        # jump.
        primitive: Array = 2.0 * (arctan2(ratio * sin(half), cos(half)) + np.pi * turns)
        return primitive

    with np.errstate(invalid="ignore", divide="ignore"):
        general = (
            with_cosine / safe * (end - start)
            + (constant - with_cosine * base / safe) * (inverse(end) - inverse(start)) / root
            - with_sine / safe * log((base + safe * cos(end)) / (base + safe * cos(start)))
        )

    def even(angle: Array) -> Array:
        cosine, sine = cos(angle), sin(angle)
        first = constant * angle + with_cosine * sine - with_sine * cosine
        second = constant * sine + with_cosine * (angle + sine * cosine) / 2.0 + with_sine * sine**2 / 2.0
        total: Array = (first - share * second) / base
        return total

    return np.where(nearly_even, even(end) - even(start), general)


def rect_view(
    to_centre: Array, normal: Array, *, width: Array, height: Array, direction: Array, across: Array
) -> Array:
    """The view of a rectangle that shines to one side, along the unit vector `direction`; `across` is its
    width's axis.

    Lambert's polygon formula over the four edges, each cut at the horizon, closed by an edge on the horizon.
    """
    behind = projection(to_centre, direction) >= 0.0
    half_width = across * (width / 2.0)[..., None]
    half_height = cross(across, direction) * (height / 2.0)[..., None]
    corners = (
        to_centre - half_width - half_height,
        to_centre + half_width - half_height,
        to_centre + half_width + half_height,
        to_centre - half_width + half_height,
    )
    view = polygon_view(corners, normal)
    return np.where(behind, 0.0, np.where(np.isnan(projection(to_centre, direction)), np.nan, view))


def polygon_view(corners: Sequence[Array], normal: Array) -> Array:
    """The view of flat polygons by the vectors to their corners, in order, each of one shape (..., 3): either side of them."""
    heights = [projection(corner, normal) for corner in corners]
    total = np.zeros(np.broadcast_shapes(corners[0].shape[:-1], normal.shape[:-1]))
    leaving, entering = np.zeros_like(corners[0]), np.zeros_like(corners[0])
    for here in range(len(corners)):
        there = (here + 1) % len(corners)
        up_here, up_there = heights[here] > 0.0, heights[there] > 0.0
        drop = heights[here] - heights[there]
        share = heights[here] / np.where(up_here == up_there, 1.0, drop)
        crossing = corners[here] + share[..., None] * (corners[there] - corners[here])
        first = np.where(up_here[..., None], corners[here], crossing)
        last = np.where(up_there[..., None], corners[there], crossing)
        total = total + np.where(up_here | up_there, _edge(first, last, normal), 0.0)
        leaving = np.where((up_here & ~up_there)[..., None], crossing, leaving)
        entering = np.where((~up_here & up_there)[..., None], crossing, entering)
    view: Array = np.abs(total + _edge(leaving, entering, normal)) / 2.0
    return view


def _edge(first: Array, last: Array, normal: Array) -> Array:
    """What a straight edge adds to Lambert's contour integral: its angle, times the tilt of its plane."""
    turned = cross(first, last)
    length = lengths(turned)
    angle = arctan2(length, projection(first, last))
    with np.errstate(invalid="ignore", divide="ignore"):
        added: Array = np.where(length > 0.0, angle * projection(normal, turned) / length, 0.0)
    return added

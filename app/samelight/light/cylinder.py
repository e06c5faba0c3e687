"""How much of its sky a cylinder fills; the conventions are those of `shapes`."""

import numpy as np

from samelight.light.elementary import arccos, arctan, cos, sin
from samelight.light.rows import Array, cross, lengths, projection

# Gauss-Legendre quadrature of 32 points over the lit arc; the line along the axis is integrated in closed form. Nodes are
# the zeros x of the Legendre polynomial P, weights 2 / ((1 - x²) P'(x)²) (NIST DLMF 3.5.19 to 3.5.21), half of each.
NODES = (
    *(0.04830766568773832, 0.1444719615827965, 0.23928736225213706, 0.33186860228212767),
    *(0.42135127613063533, 0.5068999089322294, 0.5877157572407623, 0.6630442669302152),
    *(0.7321821187402897, 0.7944837959679424, 0.84936761373257, 0.8963211557660521),
    *(0.9349060759377397, 0.9647622555875064, 0.9856115115452684, 0.9972638618494816),
)
WEIGHTS = (
    *(0.0965400885147278, 0.09563872007927486, 0.09384439908080457, 0.09117387869576389),
    *(0.08765209300440381, 0.08331192422694675, 0.07819389578707031, 0.0723457941088485),
    *(0.06582222277636185, 0.058684093478535544, 0.050998059262376175, 0.04283589802222668),
    *(0.03427386291302143, 0.02539206530926206, 0.01627439473090567, 0.007018610009470096),
)
_ARC_NODES = np.array([*(-node for node in reversed(NODES)), *NODES])
_ARC_WEIGHTS = np.array([*reversed(WEIGHTS), *WEIGHTS])


def cylinder_view(to_centre: Array, normal: Array, *, radius: Array, length: Array, axis: Array) -> Array:
    """The view of a cylinder along the unit vector `axis` that shines outwards from its side; 0 inside it.

    Along the axis in closed form, each line cut at the horizon; around it by 32-point Gauss-Legendre
    quadrature over the arc that faces the mark. Measured against 600 points: relative error under 1e-6 from
    1.3 radii off the axis outwards and under 4e-4 from 1.05 where the whole cylinder stands above the
    horizon; where the horizon cuts it, within 3e-3 of pi from 1.1 radii, 4e-4 from 1.3 and 1e-4 from 2.
    """
    line = _CylinderLines(to_centre, radius, length, axis)
    rise = projection(normal[..., None, :], line.offset)
    slope = projection(normal, axis)[..., None] + np.zeros_like(rise)
    with np.errstate(invalid="ignore", divide="ignore"):
        horizon = -rise / slope
    low = np.where(slope > 0.0, np.maximum(line.low, horizon), line.low)
    high = np.where(slope < 0.0, np.minimum(line.high, horizon), line.high)
    lit = (high > low) & ((slope != 0.0) | (rise > 0.0))
    low, high = np.where(lit, low, 0.0), np.where(lit, high, 0.0)

    def primitive(place: Array) -> Array:
        squared, near = line.near**2 + place**2, line.near
        straight = rise * (place / (2.0 * near**2 * squared) + arctan(place / near) / (2.0 * near**2 * near))
        total: Array = straight - slope / (2.0 * squared)
        return total

    with np.errstate(invalid="ignore", divide="ignore"):
        return line.summed(line.facing * (primitive(high) - primitive(low)))


def cylinder_solid_angle(to_centre: Array, *, radius: Array, length: Array, axis: Array) -> Array:
    """The solid angle (sr) of the side of a cylinder; 0 inside it. Quadrature and errors as
    `cylinder_view`."""
    line = _CylinderLines(to_centre, radius, length, axis)

    def primitive(place: Array) -> Array:
        total: Array = place / (line.near**2 * np.sqrt(line.near**2 + place**2))
        return total

    with np.errstate(invalid="ignore", divide="ignore"):
        return line.summed(line.facing * (primitive(line.high) - primitive(line.low)))


class _CylinderLines:
    """The lines of a cylinder's side that face a mark, one per quadrature node, as arrays of shape (n,
    nodes)."""

    def __init__(self, to_centre: Array, radius: Array, length: Array, axis: Array) -> None:
        along = projection(to_centre, axis)
        flat = to_centre - along[..., None] * axis
        distance = lengths(flat)
        self._radius = radius
        self._outside = distance > radius
        self._unknown = np.isnan(distance + radius + length)
        clear = np.where(self._outside, distance, np.maximum(radius, 1.0) * 2.0)
        with np.errstate(invalid="ignore", divide="ignore"):
            facing_mark = np.where(self._outside[..., None], -flat / distance[..., None], 0.0)
        self._half_arc = arccos(np.clip(radius / clear, -1.0, 1.0))
        angle = self._half_arc[..., None] * _ARC_NODES
        cosine, sine = cos(angle), sin(angle)
        outwards = (
            facing_mark[..., None, :] * cosine[..., None]
            + cross(axis, facing_mark)[..., None, :] * sine[..., None]
        )
        self.offset = flat[..., None, :] + radius[..., None, None] * outwards
        self.facing = clear[..., None] * cosine - radius[..., None]
        self.near = np.sqrt(
            (clear - radius)[..., None] ** 2 + 4.0 * (clear * radius)[..., None] * sin(angle / 2.0) ** 2
        )
        self.low = (along - length / 2.0)[..., None] + np.zeros_like(angle)
        self.high = (along + length / 2.0)[..., None] + np.zeros_like(angle)

    def summed(self, values: Array) -> Array:
        total = self._radius * self._half_arc * (values * _ARC_WEIGHTS).sum(axis=-1)
        return np.where(self._outside, total, np.where(self._unknown, np.nan, 0.0))

"""How much of its sky a cylinder fills; the conventions are those of `shapes`."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from samelight.light.elementary import arctan2
from samelight.light.rows import Array, cross, lengths, projection

Rows = npt.NDArray[np.intp]
Mask = npt.NDArray[np.bool_]
Half = tuple[tuple[float, ...], tuple[float, ...]]
"""Nodes above 0, and their weights."""

# Gauss-Legendre quadrature over the lit arc; the line along the axis is integrated in closed form. Nodes are the zeros x above 0 of
# the Legendre polynomial P of so many points, weights 2 / ((1 - x²) P'(x)²) (NIST DLMF 3.5.19 to 3.5.21).
RULES: dict[int, Half] = {
    16: (
        (
            *(0.09501250983763744, 0.2816035507792589, 0.45801677765722737, 0.6178762444026438),
            *(0.755404408355003, 0.8656312023878318, 0.9445750230732326, 0.9894009349916499),
        ),
        (
            *(0.1894506104550685, 0.18260341504492358, 0.16915651939500254, 0.14959598881657674),
            *(0.12462897125553388, 0.09515851168249279, 0.062253523938647894, 0.027152459411754096),
        ),
    ),
    32: (
        (
            *(0.04830766568773832, 0.1444719615827965, 0.23928736225213706, 0.33186860228212767),
            *(0.42135127613063533, 0.5068999089322294, 0.5877157572407623, 0.6630442669302152),
            *(0.7321821187402897, 0.7944837959679424, 0.84936761373257, 0.8963211557660521),
            *(0.9349060759377397, 0.9647622555875064, 0.9856115115452684, 0.9972638618494816),
        ),
        (
            *(0.0965400885147278, 0.09563872007927486, 0.09384439908080457, 0.09117387869576389),
            *(0.08765209300440381, 0.08331192422694675, 0.07819389578707031, 0.0723457941088485),
            *(0.06582222277636185, 0.058684093478535544, 0.050998059262376175, 0.04283589802222668),
            *(0.03427386291302143, 0.02539206530926206, 0.01627439473090567, 0.007018610009470096),
        ),
    ),
}
_FEW, _MANY = RULES
_FAR = 2.5
"""Radii off the axis from which a few points do for an arc that no horizon cuts."""


def cylinder_view(to_centre: Array, normal: Array, *, radius: Array, length: Array, axis: Array) -> Array:
    """The view of a cylinder along the unit vector `axis` that shines outwards from its side; 0 inside it.

    Along the axis in closed form, each line cut at the horizon; around it by Gauss-Legendre quadrature over the tangent of half the
    angle, on the arc that faces the mark: where the whole cylinder stands above the horizon of 16 points from 2.5 radii off the axis,
    which are as good as half of them since both halves give the same, else of 32. Measured against 400 points: relative error under
    1e-5 from 1.2 radii outwards and under 1e-3 from 1.05 where the whole cylinder stands above the horizon; where the horizon cuts
    it, within 3e-3 of pi from 1.1 radii, 4e-4 from 1.3 and 1e-4 from 2.
    """
    tube = _Tube.of(to_centre, radius, length, axis)
    facing = np.broadcast_to(normal, tube.flat.shape)
    rise, slope = projection(facing, tube.flat), projection(facing, tube.axis)
    toward = projection(facing, tube.outwards)
    aside = projection(facing, cross(tube.axis, tube.outwards))
    swing = tube.radius * np.sqrt(toward * toward + aside * aside)
    ends = slope * tube.low, slope * tube.high
    lowest, highest = rise - swing + np.minimum(*ends), rise + swing + np.maximum(*ends)

    def whole(some: "_Tube", rows: Rows, lines: "_Lines") -> Array:
        height = rise[rows][:, None] + (some.radius * toward[rows])[:, None] * lines.cosine
        return lines.view(height, slope[rows][:, None], some.low[:, None], some.high[:, None])

    def cut(some: "_Tube", rows: Rows, lines: "_Lines") -> Array:
        turned = toward[rows][:, None] * lines.cosine + aside[rows][:, None] * lines.sine
        height = rise[rows][:, None] + some.radius[:, None] * turned
        falls = slope[rows][:, None] + np.zeros_like(height)
        with np.errstate(invalid="ignore", divide="ignore"):
            horizon = -height / falls
        low = np.where(falls > 0.0, np.maximum(some.low[:, None], horizon), some.low[:, None])
        high = np.where(falls < 0.0, np.minimum(some.high[:, None], horizon), some.high[:, None])
        lit = (high > low) & ((falls != 0.0) | (height > 0.0))
        return lines.view(height, falls, np.where(lit, low, 0.0), np.where(lit, high, 0.0))

    above = lowest >= 0.0
    far = tube.away >= _FAR * tube.radius
    view = tube.summed(
        (above & far, _FEW, True, whole),
        (above & ~far, _MANY, True, whole),
        (~above & (highest > 0.0), _MANY, False, cut),
    )
    return np.where(np.isnan(rise + slope), np.nan, view)


def cylinder_solid_angle(to_centre: Array, *, radius: Array, length: Array, axis: Array) -> Array:
    """The solid angle (sr) of the side of a cylinder; 0 inside it. Quadrature and errors as
    `cylinder_view`."""
    tube = _Tube.of(to_centre, radius, length, axis)

    def seen(some: "_Tube", _rows: Rows, lines: "_Lines") -> Array:
        def primitive(place: Array) -> Array:
            total: Array = place / (lines.squared * np.sqrt(lines.squared + place * place))
            return total

        return lines.facing * (primitive(some.high[:, None]) - primitive(some.low[:, None]))

    far = tube.away >= _FAR * tube.radius
    return tube.summed((far, _FEW, True, seen), (~far, _MANY, True, seen))


Integrand = Callable[["_Tube", Rows, "_Lines"], Array]
"""What each line of some cylinders gives, (n, points): of these cylinders, their rows among all, and their lines."""


@dataclass(frozen=True)
class _Tube:
    """Cylinders as marks see them, over n rows: how far `away` the axis is, the way `flat` to it, `outwards` from it to the mark, and
    where the cylinder begins and ends along it."""

    away: Array
    flat: Array
    outwards: Array
    axis: Array
    radius: Array
    low: Array
    high: Array

    @classmethod
    def of(cls, to_centre: Array, radius: Array, length: Array, axis: Array) -> "_Tube":
        along = projection(to_centre, axis)
        flat = to_centre - along[..., None] * axis
        away = lengths(flat)
        sizes = (np.broadcast_to(size, away.shape) for size in (radius, length / 2.0))
        with np.errstate(invalid="ignore", divide="ignore"):
            outwards = -flat / away[..., None]
        wide, half = sizes
        return cls(away, flat, outwards, np.broadcast_to(axis, flat.shape), wide, along - half, along + half)

    def some(self, rows: Rows) -> "_Tube":
        own = self.away, self.flat, self.outwards, self.axis, self.radius, self.low, self.high
        return _Tube(*(part[rows] for part in own))

    def summed(self, *parts: tuple[Mask, int, bool, Integrand]) -> Array:
        """The sums over the arcs: of the rows of each part, by so many points, or by those of one half where both give the same."""
        total = np.where(np.isnan(self.away + self.low + self.high + self.radius), np.nan, 0.0)
        outside = self.away > self.radius
        for where, points, halved, integrand in parts:
            rows = np.flatnonzero(where & outside)
            if rows.size:
                some = self.some(rows)
                lines = _Lines.of(some, points, halved=halved)
                with np.errstate(invalid="ignore", divide="ignore"):
                    total[rows] = (integrand(some, rows, lines) * lines.weight).sum(axis=-1)
        return total


@dataclass(frozen=True)
class _Lines:
    """The lines of cylinders' sides that face a mark, (n, points): where around the axis each is, from where it is nearest, the
    `squared` distance off it, how much it is turned to the mark, and its weight."""

    cosine: Array
    sine: Array
    squared: Array
    facing: Array
    weight: Array

    @classmethod
    def of(cls, tube: _Tube, points: int, *, halved: bool) -> "_Lines":
        nodes, weights = (np.array(part) for part in RULES[points])
        if halved:
            weights = 2.0 * weights
        else:
            nodes, weights = (
                np.concatenate([sign * part[::-1], part]) for sign, part in ((-1.0, nodes), (1.0, weights))
            )
        away, radius = tube.away[:, None], tube.radius[:, None]
        reach = np.sqrt((away - radius) / (away + radius))
        tangent = reach * nodes
        share = 1.0 / (1.0 + tangent * tangent)
        cosine = (1.0 - tangent * tangent) * share
        gap = away - radius
        return cls(
            cosine,
            2.0 * tangent * share,
            gap * gap + 4.0 * away * radius * (tangent * tangent * share),
            away * cosine - radius,
            2.0 * radius * reach * share * weights,
        )

    def view(self, height: Array, slope: Array, low: Array, high: Array) -> Array:
        """What each line gives between two places along it, at so many metres above the mark's plane that rises along it by `slope`."""
        near = np.sqrt(self.squared)
        ends = [1.0 / (2.0 * (self.squared + place * place)) for place in (low, high)]
        turn = arctan2(near * (high - low), self.squared + high * low)
        straight = (high * ends[1] - low * ends[0]) / self.squared + turn / (2.0 * self.squared * near)
        return self.facing * (height * straight - slope * (ends[1] - ends[0]))

"""A photometric profile: how much of a light leaves it in each direction, as IESNA LM-63 measures it.

Polar angles count from where the light shines to, angles about that from the light's own +X towards its +Y (type C
photometry). Between the angles a profile is linear; beyond those it has, no light leaves.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np

from samelight.light.as_stated import AsStated
from samelight.light.elementary import cos
from samelight.light.rows import Array

FULL = 360.0


@dataclass(frozen=True, eq=False)
class Profile(AsStated):
    """Intensities (planes, angles), 0 or more and one of them above, at ascending polar angles (angles,) and at the angles of
    planes about the axis (planes,), all in degrees.

    The planes begin at 0 and end at 0 (alike all round), 90 (alike in all quarters), 180 (alike on both sides) or up to 360.
    """

    polar: Array
    planes: Array
    intensity: Array

    @cached_property
    def peak(self) -> float:
        """The largest intensity."""
        return float(self.intensity.max())

    @cached_property
    def beam(self) -> float:
        """The full angle in degrees within which the mean over all planes is at least half of its largest."""
        mean = self._all_round
        level = float(mean.max()) / 2.0
        above = np.flatnonzero(mean >= level)
        last = int(above[-1])
        if last == mean.size - 1:
            return 2.0 * float(self.polar[last])
        share = (mean[last] - level) / (mean[last] - mean[last + 1])
        return 2.0 * float(self.polar[last] + share * (self.polar[last + 1] - self.polar[last]))

    @cached_property
    def mean(self) -> float:
        """The mean over all directions, as a share of the peak: 1 for a light that shines alike to every side.

        Linear in the cosine within each step of the angles, which is how luminaires are summed up.
        """
        cosine = cos(np.radians(self.polar))
        mean = self._all_round
        total = float((-np.diff(cosine) * (mean[1:] + mean[:-1]) / 2.0).sum())
        return total / (2.0 * self.peak)

    @cached_property
    def _all_round(self) -> Array:
        """The mean over the planes at each polar angle."""
        if self.planes.size == 1:
            only: Array = self.intensity[0]
            return only
        planes, intensity = self.planes, self.intensity
        if planes[-1] not in (90.0, 180.0, FULL):
            planes, intensity = np.append(planes, FULL), np.concatenate((intensity, intensity[:1]))
        steps = np.diff(planes)[:, None]
        return np.asarray(((intensity[1:] + intensity[:-1]) * steps).sum(axis=0) / (2.0 * steps.sum()))

    def share(self, polar: Array, about: Array | None = None) -> Array:
        """The share of the peak that leaves at polar angles and at angles about the axis, in degrees, of one shape.

        >>> lamp = Profile("", np.array([0.0, 30.0, 60.0]), np.zeros(1), np.array([[8.0, 4.0, 0.0]]))
        >>> lamp.share(np.array([0.0, 15.0, 70.0])), lamp.beam
        (array([1.  , 0.75, 0.  ]), 60.0)
        """
        inside = (polar >= self.polar[0]) & (polar <= self.polar[-1])
        if self.planes.size == 1 or about is None:
            found = np.interp(polar, self.polar, self._all_round)
            return np.where(inside, found, np.where(np.isnan(polar), np.nan, 0.0)) / self.peak
        planes, intensity = self.planes, self.intensity
        turned = about % FULL
        if planes[-1] <= 180.0:
            turned = np.where(turned > 180.0, FULL - turned, turned)
        if planes[-1] <= 90.0:
            turned = np.where(turned > 90.0, 180.0 - turned, turned)
        if planes[-1] > 180.0 and planes[-1] < FULL:
            planes, intensity = np.append(planes, FULL), np.concatenate((intensity, intensity[:1]))
        after = np.clip(np.searchsorted(planes, turned, side="right"), 1, planes.size - 1)
        weight = np.clip((turned - planes[after - 1]) / (planes[after] - planes[after - 1]), 0.0, 1.0)
        found = np.zeros_like(polar)
        for plane in np.flatnonzero(np.bincount(np.append(after - 1, after))).tolist():
            own = np.interp(polar, self.polar, intensity[plane])
            found += own * np.where(after == plane, weight, np.where(after - 1 == plane, 1.0 - weight, 0.0))
        return np.where(inside, found, np.where(np.isnan(polar), np.nan, 0.0)) / self.peak


def scaled(polar: Array, scale: Array) -> Array:
    """The polar angles, degrees, at which a profile is looked up whose angles are scaled as UsdLux's `ies:angleScale` says.

    Above 0 they grow from the axis by that factor, below 0 from the other end; 0 leaves them.

    >>> scaled(np.array([30.0, 150.0, 30.0]), np.array([2.0, -0.5, 0.0]))
    array([ 15., 120.,  30.])
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        grown = polar / scale
        shrunk = (polar - 180.0) / -scale + 180.0
    return np.where(scale > 0.0, grown, np.where(scale < 0.0, shrunk, polar))


def profile_of(text: str) -> Profile | None:
    """The profile that a sheet holds as `polar angles; planes; intensities, plane by plane`; None where the text is none.

    >>> profile_of("0 90; 0; 10 0").peak, profile_of("0; 0; 1"), profile_of("0 90; 0; 1 nan")
    (10.0, None, None)
    """
    parts = text.split(";")
    try:
        polar, planes, values = ([float(word) for word in part.split()] for part in parts)
    except ValueError:
        return None
    if why_no_profile(polar, planes, values):
        return None
    shape = len(planes), len(polar)
    return Profile(text, np.array(polar), np.array(planes), np.array(values).reshape(shape))


def profile_text(polar: list[float], planes: list[float], values: list[float]) -> str:
    """The numbers of a profile as text for a sheet."""
    return "; ".join(" ".join(f"{number:.6g}" for number in part) for part in (polar, planes, values))


def why_no_profile(polar: list[float], planes: list[float], values: list[float]) -> str:
    """What is wrong with the numbers of a profile; "" where nothing is."""
    every = [*polar, *planes, *values]
    if not all(map(math.isfinite, every)):
        return "one of its numbers is none"
    if len(polar) < 2:
        return "it has fewer than two polar angles"
    if not planes or len(values) != len(polar) * len(planes):
        return "it has not one intensity for each of its angles"
    if any(b <= a for part in (polar, planes) for a, b in pairwise(part)):
        return "its angles do not ascend"
    if not (polar[0] >= 0.0 and polar[-1] <= 180.0 and planes[0] == 0.0 and planes[-1] <= FULL):
        return "its angles are not those of type C photometry"
    if min(values) < 0.0 or max(values) <= 0.0:
        return "it has an intensity below 0, or none above"
    return ""

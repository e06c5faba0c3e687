"""The numbers of a profile's file as text for a sheet, whatever its format."""

from __future__ import annotations

from samelight.light.profile import profile_of, profile_text, why_no_profile
from samelight.sheets.errors import SamelightError

_MOST = 4096
"""Intensities that a sheet holds; of more, angles are left out evenly."""


class UnreadableProfileError(SamelightError):
    """A profile that cannot be read; the message is the reason, without the file's name."""


def held_text(polar: list[float], planes: list[float], values: list[float]) -> str:
    """A profile of type C, its intensities plane by plane, as text, with fewer angles where it has more than a sheet holds; the
    first and the last stay. Raises `UnreadableProfileError` for numbers that are no profile, or none any more as a sheet holds them."""
    why = why_no_profile(polar, planes, values)
    if why:
        raise UnreadableProfileError(why)
    keep_polar, keep_planes = list(range(len(polar))), list(range(len(planes)))
    while len(keep_polar) * len(keep_planes) > _MOST:
        longer = (
            keep_polar if len(keep_polar) >= 4 * len(keep_planes) or len(keep_planes) < 3 else keep_planes
        )
        longer[:] = [*longer[:-1:2], longer[-1]]
    kept = [values[plane * len(polar) + angle] for plane in keep_planes for angle in keep_polar]
    text = profile_text([polar[one] for one in keep_polar], [planes[one] for one in keep_planes], kept)
    if (
        profile_of(text) is None
    ):  # its angles lie too near each other, or no light is left between those that were kept
        raise UnreadableProfileError("it is finer than a sheet holds")
    return text

"""Colours of a scene that state a space of their own, in the colour space that the sheet's numbers are in."""

from __future__ import annotations

import math
import re
from typing import Any

import numpy as np
from pxr import Usd, UsdRender

from samelight.light.colour import space_name
from samelight.light.rows import image
from samelight.light.spaces import FROM_REC709, TO_REC709
from samelight.sources.keyed import is_keyed
from samelight.sources.numbers import tidy
from samelight.sources.remarks import Remarks

_NAMED = re.compile(r"(lin|srgb|g18|g22|g24)_(\w+?)_(?:scene|display)\Z")
_GAMMA = {"g18": 1.8, "g22": 2.2, "g24": 2.4}
_AS_IT_STANDS = frozenset({"", "raw", "data", "identity", "unknown"})
DEFAULT = "rec709"


def working_space(settings: Any) -> str | None:
    """The sheet's name of the rendering colour space that render settings state; None where it has none.

    UsdLux colours are in that space. Its names come with and without `_scene`, which says how the space is encoded.
    """
    stated = settings.GetRenderingColorSpaceAttr().Get() if settings else None
    try:
        return space_name(stated.removesuffix("_scene")) if stated else None
    except ValueError:
        return None


class Colours:
    """Takes colours to the sheet's space and back. A colour whose space nobody states is in the rendering space."""

    def __init__(self, stage: Any, remarks: Remarks) -> None:
        self.rendering = working_space(UsdRender.Settings.GetStageRenderSettings(stage))
        self._remarks = remarks
        self.assumed = False
        """Whether a colour was taken to the sheet's space though the scene does not say what it renders in."""

    def to_sheet(self, attribute: Any, value: Any) -> Any:
        """A colour, or one over time, as the sheet has it; what is in no space that is known stands as it is, with a remark."""
        space = self._of(attribute, tell=True)
        if space is None or value is None:
            return value
        self.assumed = self.assumed or self.rendering is None
        return _each(value, lambda rgb: _taken(rgb, space, ("lin", self.rendering or DEFAULT)))

    def from_sheet(self, attribute: Any, value: Any) -> Any:
        """The way back."""
        space = self._of(attribute, tell=False)
        if space is None or value is None:
            return value
        return _each(value, lambda rgb: _taken(rgb, ("lin", self.rendering or DEFAULT), space))

    def _of(self, attribute: Any, *, tell: bool) -> tuple[str, str] | None:
        """How a colour is encoded and in which primaries; None where it is as the sheet has it, or there is no telling."""
        stated = _stated(attribute)
        if stated in _AS_IT_STANDS:
            return None
        named, path = _NAMED.match(stated), str(attribute.GetPrim().GetPath())
        try:
            space = (named[1], space_name(named[2])) if named else None
        except ValueError:
            space = None
        if tell and space is None:
            self._remarks.about(
                path,
                f"{attribute.GetName()} is stated in {stated}, which is not known here; it is taken as it stands.",
            )
        elif tell and self.rendering is None:
            self._remarks.about(
                path,
                f"{attribute.GetName()} is stated in {stated}; the scene names no rendering colour space, so that the sheet has it "
                "in linear Rec.709.",
            )
        return None if space == ("lin", self.rendering or DEFAULT) else space


def _stated(attribute: Any) -> str:
    """The space that an attribute, its prim or one above states, also one that nobody defines; empty where none is."""
    found = str(Usd.ColorSpaceAPI.ComputeColorSpaceName(attribute, None) or attribute.GetColorSpace())
    prim = attribute.GetPrim()
    while not found and prim and not prim.IsPseudoRoot():
        own = prim.GetAttribute("colorSpace:name")
        found = str((own.Get() if own else None) or "")
        prim = prim.GetParent()
    return found


def _taken(rgb: Any, here: tuple[str, str], there: tuple[str, str]) -> Any:
    if not (isinstance(rgb, list) and len(rgb) == 3):
        return rgb
    linear = np.array([_decoded(channel, here[0]) for channel in rgb])
    mixed = image(FROM_REC709[there[1]], image(TO_REC709[here[1]], linear)).tolist()
    return [tidy(_encoded(channel, there[0])) for channel in mixed]


def _decoded(channel: float, how: str) -> float:
    """A channel made linear; sRGB by IEC 61966-2-1."""
    size = abs(channel)
    if how == "srgb":
        size = size / 12.92 if size <= 0.04045 else math.pow((size + 0.055) / 1.055, 2.4)
    elif how in _GAMMA:
        size = math.pow(size, _GAMMA[how])
    return math.copysign(size, channel)


def _encoded(channel: float, how: str) -> float:
    size = abs(channel)
    if how == "srgb":
        size = size * 12.92 if size <= 0.0031308 else 1.055 * math.pow(size, 1.0 / 2.4) - 0.055
    elif how in _GAMMA:
        size = math.pow(size, 1.0 / _GAMMA[how])
    return math.copysign(size, channel)


def _each(value: Any, change: Any) -> Any:
    if is_keyed(value):
        return {**value, "keys": [[frame, change(key)] for frame, key in value["keys"]]}
    return change(value)

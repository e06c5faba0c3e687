"""Which objects of a stage cast a light's shadow on a mark."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

from pxr import Kind, Usd, UsdGeom

from samelight.sources.usd.values import authored_names

_MODELS = frozenset({Kind.Tokens.component, Kind.Tokens.subcomponent})


class Shadows:
    """The lights of a capture, and the prims of its marks, by their names.

    A mark casts no shadow on itself: neither its own prim nor what lies below it, nor the surface, or the model (of the
    kind component or subcomponent), that holds it. A light whose shadows are off, or whose shadow links leave an object
    out, is not hidden by it. Nor does a mark hide itself from the camera, of which no link says anything.
    """

    def __init__(self, lights: Mapping[str, Any], marks: Mapping[str, Any]) -> None:
        self._own = {name: _holder(prim) for name, prim in marks.items()}
        self._lights = lights
        self._query = cache(self._asked)

    def casts(self, mark: str, light: str | None, path: str) -> bool:
        """Whether an object casts the light's shadow on the mark, or stands before it as the camera (None) sees it."""
        if f"{path}/".startswith(f"{self._own[mark]}/"):
            return False
        if light is None:
            return True
        query = self._query(light)
        if isinstance(query, bool):
            return query
        return bool(query.IsPathIncluded(path))

    def _asked(self, light: str) -> Any:
        """Whether a light has shadows at all, or what says of which objects it has them."""
        prim = self._lights[light]
        on = prim.GetAttribute("inputs:shadow:enable")
        if on and on.Get() is False:
            return False
        if not any(name.startswith("collection:shadowLink") for name in authored_names(prim)):
            return True
        return Usd.CollectionAPI(prim, "shadowLink").ComputeMembershipQuery()


def _holder(prim: Any) -> str:
    """The path of what a mark belongs to: the nearest surface or model above it, else itself."""
    above = prim
    while above and not above.IsPseudoRoot():
        if above.IsA(UsdGeom.Gprim) or Usd.ModelAPI(above).GetKind() in _MODELS:
            return str(above.GetPath())
        above = above.GetParent()
    return str(prim.GetPath())

"""A light that a scene has and switches off: what switches it on, written into the edit target of the stage."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import Any

from pxr import Sdf

from samelight.sheets.switches import Inactive, Selections, goes_by
from samelight.sources.remarks import Remarks
from samelight.sources.usd.find import find


def switch_on(
    stage: Any, name: str, selections: Selections, others: Collection[str]
) -> tuple[str, str] | None:
    """Switch on the light that goes by a name; its path and what was done, None where the scene has none.

    An inactive prim is made active. Where a variant is the cause, that of `selections` is selected, which are those of
    the shots that have the light, or else the first other one in which the light is there. `others` are the paths of lights that go by other names.
    """

    def lights() -> list[str]:
        found = find(stage, Remarks())
        paths = [str(prim.GetPath()) for prim in (*found.lights, *found.domes)]
        return sorted((path for path in paths if path not in others and goes_by(name, path)), key=len)

    if there := lights():
        return there[0], "switched on with others"
    off = [one for one in find(stage, Remarks()).inactive if goes_by(name, one.path)]
    for one in off:
        if not one.variant:
            with Sdf.ChangeBlock():
                _over(stage, one.prim).active = True
            return (one.path, f"{one.prim} made active") if _is_there(stage, one.path) else None
    for path, variants, variant in (*_by_selection(stage, selections), *_by_other(stage, off)):
        prim = stage.GetPrimAtPath(path)
        chosen = prim.GetVariantSet(variants)
        was = chosen.GetVariantSelection()
        if variant == was or variant not in chosen.GetVariantNames():
            continue
        chosen.SetVariantSelection(variant)
        if found := lights():
            return found[0], f"{variants} = {variant} selected on {path}, where it was {was or 'none'}"
        chosen.ClearVariantSelection()
    return None


def _over(stage: Any, path: str) -> Any:
    return Sdf.CreatePrimInLayer(stage.GetEditTarget().GetLayer(), path)


def _is_there(stage: Any, path: str) -> bool:
    prim = stage.GetPrimAtPath(path)
    return bool(prim) and prim.IsActive()


def _by_selection(stage: Any, selections: Selections) -> Iterator[tuple[str, str, str]]:
    for (path, name), variant in selections.items():
        prim = stage.GetPrimAtPath(path) if Sdf.Path.IsValidPathString(path) else None
        if prim and not prim.IsInstanceProxy() and name in prim.GetVariantSets().GetNames():
            yield path, name, variant


def _by_other(stage: Any, off: list[Inactive]) -> Iterator[tuple[str, str, str]]:
    """The other variants of the sets in which lights are switched off, nearest to the light first."""
    for one in off:
        name = one.variant.partition("=")[0]
        prim = stage.GetPrimAtPath(one.prim)
        while prim and not prim.IsPseudoRoot():
            if name in prim.GetVariantSets().GetNames():
                for variant in prim.GetVariantSet(name).GetVariantNames():
                    yield str(prim.GetPath()), name, variant
            prim = prim.GetParent()

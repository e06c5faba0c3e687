"""Variants that are asked for: selected in an opened stage before anything is read from it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from pxr import Usd

from samelight.sheets.errors import nearest_name
from samelight.sources.errors import CaptureError
from samelight.sources.usd.links import TRAVERSED

MOST_ROUNDS = 16
"""Variant sets inside variants are found one below the other."""


def select_as_asked(scene: Path, stage: Any, source: Mapping[str, Any]) -> None:
    """Select the variants that a sheet was captured with, by its `source`. Raises as `select`."""
    asked = source.get("asked")
    variants = asked.get("variants") if isinstance(asked, Mapping) else None
    if isinstance(variants, Mapping):
        select(scene, stage, [(str(name), str(variant)) for name, variant in variants.items()])


def select(scene: Path, stage: Any, asked: Sequence[tuple[str, str]]) -> None:
    """Select variants by the names of their sets, on every prim that has the set; in the stage alone, not in its layers.

    Raises `CaptureError` where no prim has such a set, or none of them such a variant.
    """
    stage.SetEditTarget(stage.GetSessionLayer())
    for name, variant in asked:
        known: set[str] = set()
        chosen: set[Any] = set()
        for _ in range(MOST_ROUNDS):
            found = [prim for prim in with_set(stage, name) if prim.GetPath() not in chosen]
            for prim in found:
                chosen.add(prim.GetPath())
                one = prim.GetVariantSet(name)
                known.update(one.GetVariantNames())
                if variant in one.GetVariantNames():
                    one.SetVariantSelection(variant)
            if not found:
                break
        if not chosen:
            sets = {one for prim in _with_sets(stage) for one in prim.GetVariantSets().GetNames()}
            raise CaptureError(
                scene, "a variant set of the scene", f"none called {name}", nearest=nearest_name(name, sets)
            )
        if variant not in known:
            raise CaptureError(
                scene,
                f"a variant of {name}: {', '.join(sorted(known))}",
                variant,
                nearest=nearest_name(variant, known),
            )


def with_set(stage: Any, name: str) -> list[Any]:
    """The prims that have a variant set of this name, those that no layer reaches left out."""
    return [prim for prim in _with_sets(stage) if name in prim.GetVariantSets().GetNames()]


def _with_sets(stage: Any) -> list[Any]:
    return [
        prim
        for prim in Usd.PrimRange.Stage(stage, TRAVERSED)
        if prim.HasVariantSets() and not prim.IsInstanceProxy()
    ]

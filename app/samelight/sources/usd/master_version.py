"""The version of the master setup that a scene stands on, by what its layers say of themselves, or by their names."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from samelight.sources.name_patterns import version_named
from samelight.sources.remarks import Remarks

DATUM = "samelight"
"""Among a layer's custom data: the mapping that says which `master` it is."""


def stated_master(stage: Any, pattern: str, remarks: Remarks) -> int | None:
    """The version that a layer of the scene says it is, `samelight = {int master}` among its custom data, or else by its name where
    that is as the pattern says: that of the strongest, with a remark where weaker ones say another."""
    found = [version for layer in _strongest_first(stage) if (version := _version_of(layer, pattern))]
    several = sorted(set(found))
    if len(several) > 1:
        said = ", ".join(map(str, several))
        remarks.note(f"The scene's layers are of masters {said}; the strongest says {found[0]}.")
    return found[0] if found else None


def is_master(layer: Any, pattern: str) -> bool:
    """Whether a layer is one of a master setup."""
    return _version_of(layer, pattern) is not None


def _strongest_first(stage: Any) -> list[Any]:
    own = stage.GetLayerStack(includeSessionLayers=False)
    return [*own, *sorted((one for one in stage.GetUsedLayers() if one not in own), key=str)]


def _version_of(layer: Any, pattern: str) -> int | None:
    stated = layer.customLayerData.get(DATUM)
    version = stated.get("master") if isinstance(stated, dict) else None
    if isinstance(version, int) and not isinstance(version, bool) and version > 0:
        return version
    path = layer.realPath
    return version_named(Path(path).as_posix(), pattern) if pattern and path else None

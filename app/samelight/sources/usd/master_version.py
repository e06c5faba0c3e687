"""The version of the master setup that a scene stands on, by what its layers say of themselves, or by their names."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from pxr import Sdf

from samelight.sources.name_patterns import version_named
from samelight.sources.remarks import Remarks
from samelight.sources.usd.open import check_file, reading

DATUM = "samelight"
"""Among a layer's custom data: the mapping that says which `master` it is."""
ADOPTS = "adopts"
"""In that of a layer by which a shot adopts a master: what weaker layers say of an older one counts no more."""


def stated_master(stage: Any, pattern: str, remarks: Remarks) -> int | None:
    """The version that a layer of the scene says it is, `samelight = {int master}` among its custom data, or else by its name where
    that is as the pattern says: that of the strongest, with a remark where weaker ones say another."""
    found: list[int] = []
    for layer in _strongest_first(stage):
        version = _version_of(layer, pattern)
        if version is None:
            continue
        found.append(version)
        if len(found) == 1 and _stated(layer).get(ADOPTS) is True:
            break
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


def _stated(layer: Any) -> dict[str, Any]:
    stated = layer.customLayerData.get(DATUM)
    return stated if isinstance(stated, dict) else {}


def _version_of(layer: Any, pattern: str) -> int | None:
    version = _stated(layer).get("master")
    if isinstance(version, int) and not isinstance(version, bool) and version > 0:
        return version
    path = layer.realPath
    return version_named(Path(path).as_posix(), pattern) if pattern and path else None


def is_layer_of(layer: Path, word: str) -> bool:
    """Whether a file is a layer that says this of itself, as those do that the program wrote. Raises `CaptureError` for one that
    cannot be read."""
    check_file(layer)
    with reading(layer, Remarks()):
        return _stated(Sdf.Layer.OpenAsAnonymous(str(layer), metadataOnly=True)).get(word) is True

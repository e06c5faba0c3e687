"""What a stage could not be put together of: layers, references and payloads that are not there, and the prims that asked for them."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from samelight.sources.provenance import name_beside
from samelight.sources.remarks import Remarks

_NOT_OPENED = re.compile(
    r"Could not open asset @(.*?)@ for (\w+) introduced by @.*?@<.*?>(?: -- (.*))?", re.DOTALL
)
_NO_LAYER = re.compile(r"Could not load sublayer @(.*?)@ of layer @(.*?)@; skipping", re.DOTALL)
_NO_PRIM = re.compile(r"Unresolved (\w+) prim path @(.*?)@<(.*?)> introduced by", re.DOTALL)
_ASKED = re.compile(r"<([^<>]*)>\s*\Z")
_ARGUMENTS = re.compile(r":SDF_FORMAT_ARGS:[^@]*")


def tell_unresolved(scene: Path, stage: Any, remarks: Remarks) -> tuple[set[Path], set[Path]]:
    """Say once of each file that is not there, or cannot be read, which prims asked for it.

    Returns where those would be that are missing, and those that are there and are no layer that can be read.
    """
    missing: set[Path] = set()
    unread: set[Path] = set()
    # A stage is put together by several threads, which find faults in any order.
    for prim, text in sorted({_told(fault) for fault in stage.GetCompositionErrors()}):
        if found := _NOT_OPENED.match(text):
            asset, arc, why = found[1], found[2], found[3]
        elif found := _NO_LAYER.match(text):
            asset, arc, why = found[1], "sublayer", None
            prim = _shown(scene, found[2])  # noqa: PLW2901 - the layer asked for it, and no prim
        else:
            _tell_otherwise(scene, text, prim, remarks)
            continue
        is_there = Path(asset).exists()
        (unread if is_there else missing).add(Path(asset))
        why = (why or "it is no layer").partition(" for @")[0].rstrip(".")
        said = f"cannot be read ({why})" if is_there else "is not there"
        remarks.about(prim, f"its {arc} {_shown(scene, asset)} {said}; what it would bring is missing.")
    return missing, unread


def _told(fault: Any) -> tuple[str, str]:
    """The prim that a fault is of, and what USD says of it."""
    asked = _ASKED.search(str(getattr(fault, "rootSite", "")))
    return asked[1] if asked else "/", _ARGUMENTS.sub("", " ".join(str(fault).split()))


def _tell_otherwise(scene: Path, text: str, prim: str, remarks: Remarks) -> None:
    if found := _NO_PRIM.match(text):
        remarks.about(
            prim, f"its {found[1]} names <{found[3]}> in {_shown(scene, found[2])}, which has no such prim."
        )
    else:
        remarks.note(f"Not all of the scene could be put together: {text}")


def _shown(scene: Path, asset: str) -> str:
    """A path as a file in the scene's folder would name it; one that is no file's, such as with a scheme, as it stands."""
    return name_beside(scene, Path(asset)) if asset.startswith("/") or ":\\" in asset else asset

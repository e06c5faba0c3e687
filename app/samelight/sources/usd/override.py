"""Changes to a captured sheet as a USD layer of overs: laid over the scene, it gives the sheet that was asked for."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

from samelight.sheets.documents import write_document
from samelight.sheets.switches import Selections
from samelight.sources.remarks import Remarks
from samelight.sources.usd.frames import stated_codes, told
from samelight.sources.usd.open import open_stage, reading
from samelight.sources.usd.over_layer import Change, OverLayer, check_name, check_place
from samelight.sources.usd.variants import select_as_asked

__all__ = ["FIXES", "Change", "write_override"]


FIXES = "fixes"
"""What such a layer says of itself."""


def write_override(
    out: Path,
    scene: Path,
    source: Mapping[str, Any],
    changes: Sequence[Change],
    why: str,
    selections: Selections = MappingProxyType({}),
) -> tuple[int, list[str]]:
    """Write the layer `out` of overs that make these changes in a scene; how many it makes, and what it could not do.

    `source` is the `source` of the sheet that was captured from the scene: its `lights` say which prim each light is,
    its `asked` which frames were read. `why` becomes the documentation of the layer. `selections` are the variants of the
    shots that have what this one lacks: a light that is switched off is switched on. Nothing is written where nothing could be done. Raises `CaptureError` for a scene that cannot be read, `WriteError` for a layer that cannot be written.
    """
    check_name(out)
    with reading(scene, Remarks()):
        stage = open_stage(scene)
        select_as_asked(scene, stage, source)
        check_place(out, stage)
        work = OverLayer(stage, out, source)
        codes = stated_codes(source)
        work.make([replace(change, value=told(change.value, codes)) for change in changes], selections)
        left = work.left()
        text = work.layer_text(why, {FIXES: True}) if work.done else None
    if text is not None:
        write_document(out, text)
    return len(work.done), left

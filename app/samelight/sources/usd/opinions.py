"""Which layers of a scene say what of a light's value, the strongest first, with the line where a layer is text."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pxr import UsdGeom

from samelight.sources.errors import CaptureError
from samelight.sources.remarks import Remarks
from samelight.sources.usd.attributes import ROWS
from samelight.sources.usd.open import open_stage, reading
from samelight.sources.usd.values import plain
from samelight.sources.usd.variants import select_as_asked

_SPATIAL = frozenset({"position", "direction", "roll", "axis", "rotation", "matrix", "tilt", "mirrored"})
_TEXT = b"#usda"
_PRIM = re.compile(r'\s*(?:def|over|class)\b[^"#]*"([^"]+)"')
_VARIANT = re.compile(r'\s*"([^"]+)"\s*(?:\(|\{|$)')
_VARIANTS = re.compile(r'\s*variantSet\s+"([^"]+)"')
_QUOTED = re.compile(r'"(?:[^"\\]|\\.)*"|#.*$|@[^@]*@')
_LONGEST = 60


@dataclass(frozen=True, slots=True)
class Opinion:
    """What one layer says of one attribute: `line` is None where the layer is no text, `value` in words."""

    attribute: str
    layer: Path
    line: int | None
    value: str

    @property
    def text(self) -> str:
        """It in one line."""
        at = f"{self.layer.name}, line {self.line}" if self.line else self.layer.name
        return f"{self.attribute}: {self.value} ({at})"


def opinions_on(scene: Path, source: Mapping[str, Any], group: str, names: Iterable[str]) -> list[Opinion]:
    """The opinions on these names of a captured light, strongest first for each attribute; of where it stands, those on the transforms
    of all that is above it too.

    `source` is that of the sheet. Raises `CaptureError` where the scene cannot be read, or the light is not in it.
    """
    with reading(scene, Remarks()):
        stage = open_stage(scene)
        select_as_asked(scene, stage, source)
        paths = source.get("lights")
        path = paths.get(group) if isinstance(paths, Mapping) else None
        prim = stage.GetPrimAtPath(path) if isinstance(path, str) else None
        if not prim:
            raise CaptureError(scene, f"the light {group}", "none at the path that its sheet states")
        lines = _Lines()
        return [
            Opinion(
                _name(attribute, prim),
                Path(spec.layer.realPath or spec.layer.identifier),
                lines.of(spec),
                _said(spec),
            )
            for attribute in _attributes(prim, set(names))
            for spec in attribute.GetPropertyStack()
        ]


def _attributes(prim: Any, names: set[str]) -> Iterator[Any]:
    for row in ROWS:
        if names & {row.sheet, row.sheet.split(".")[0]} and (attribute := prim.GetAttribute(row.usd)):
            yield attribute
    above = prim if names & _SPATIAL else None
    while above and not above.IsPseudoRoot():
        xformable = UsdGeom.Xformable(above)
        if xformable:
            yield from (operation.GetAttr() for operation in xformable.GetOrderedXformOps())
        above = above.GetParent()


def _name(attribute: Any, prim: Any) -> str:
    own = attribute.GetPrim().GetPath() == prim.GetPath()
    return str(attribute.GetName() if own else attribute.GetPath())


def _said(spec: Any) -> str:
    times = spec.layer.GetNumTimeSamplesForPath(spec.path)
    if times:
        return f"{times:,} time samples"
    if not spec.HasDefaultValue():
        return "no value" if not spec.HasInfo("spline") else "a spline"
    value = plain(spec.default, single=True)
    said = "blocked" if value is None else str(value)
    return said if len(said) <= _LONGEST else f"{said[:_LONGEST]}…"


class _Lines:
    """Where specs stand in layers that are text; each layer is looked through once."""

    def __init__(self) -> None:
        self._places: dict[str, list[tuple[str, int, str]]] = {}

    def of(self, spec: Any) -> int | None:
        """The line of a spec, from 1; None where the layer is no text, or does not say it plainly."""
        path = str(spec.layer.realPath)
        if path not in self._places:
            self._places[path] = list(_lines_of(Path(path)))
        word = re.compile(rf"(?<![\w:]){re.escape(spec.name)}(?![\w:])")
        prim = str(spec.path.GetPrimOrPrimVariantSelectionPath())
        return next(
            (number for at, number, text in self._places[path] if at == prim and word.search(text)), None
        )


def _lines_of(layer: Path) -> Iterator[tuple[str, int, str]]:
    """The lines of a text layer: the path of the prim that each stands in, its number, and what it says but for what is quoted."""
    try:
        with layer.open("rb") as stream:
            if stream.read(len(_TEXT)) != _TEXT:
                return
            stream.seek(0)
            text = stream.read().decode("utf-8", "replace")
    except OSError:
        return
    stack, coming, inside = ["/"], "", 0
    for number, line in enumerate(text.split("\n"), 1):
        at, said = stack[-1], _QUOTED.sub("", line)
        if inside == 0:
            coming = _opened(at, line) or coming
        yield at, number, said
        for mark in re.findall(r"[(){}]", said):
            if mark in "()":
                inside += 1 if mark == "(" else -1
            elif inside == 0 and mark == "{":
                stack.append(coming or stack[-1])
                coming = ""
            elif inside == 0 and len(stack) > 1:
                stack.pop()


def _opened(at: str, line: str) -> str:
    """The path of the prim, or of the variant, whose statement begins on a line; empty where none does."""
    if found := _PRIM.match(line):
        return f"{at}{'' if at.endswith(('/', '}')) else '/'}{found[1]}"
    if found := _VARIANTS.match(line):
        return f"{at}{{{found[1]}="
    if at.endswith("=") and (found := _VARIANT.match(line)):
        return f"{at}{found[1]}}}"
    return ""

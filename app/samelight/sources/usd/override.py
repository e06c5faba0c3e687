"""Changes to a captured sheet as a USD layer of overs: laid over the scene, it gives the sheet that was asked for.

Everything is written in the scene's own units, axes and spaces. What a layer cannot say is told, and so is what does
not come out as asked: the scene is read again with the layer over it before anything is written.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from types import MappingProxyType
from typing import Any

from pxr import Sdf, Tf, Usd, UsdGeom

from samelight.sheets.documents import write_document
from samelight.sheets.keyed import flat_names, is_number
from samelight.sheets.switches import Selections
from samelight.sources.errors import CaptureError
from samelight.sources.keyed import frames_of, is_keyed, value_at
from samelight.sources.numbers import finite
from samelight.sources.remarks import Remarks
from samelight.sources.usd.attributes import ROWS, Keep
from samelight.sources.usd.author import HASHES, Author, NoWayError
from samelight.sources.usd.domes import capture_dome, is_dome
from samelight.sources.usd.files import layer_files
from samelight.sources.usd.find import find
from samelight.sources.usd.lights import capture_light
from samelight.sources.usd.master_version import DATUM
from samelight.sources.usd.open import check_file, open_stage, reading
from samelight.sources.usd.place import AIM, TURN, aim, turn
from samelight.sources.usd.render import capture_render
from samelight.sources.usd.scene import Scene, scene_of
from samelight.sources.usd.switch_on import switch_on
from samelight.sources.usd.time import StageClock, asked_span
from samelight.sources.usd.variants import select_as_asked

LIGHTS, ENVIRONMENTS, RENDER = "lights", "environments", "render"
_LIT = (LIGHTS, ENVIRONMENTS)

_NEAR = 1e-5
"""Relative: what comes out nearer to what was asked than this is what was asked, in 32-bit floats."""


@dataclass(frozen=True, slots=True)
class Change:
    """One name of a light, an environment or the render settings to set as a captured sheet spells it.

    `value` None takes the name out; an empty `name` with None takes the whole light out. `why` is the reason that the
    layer states.
    """

    section: str
    group: str
    name: str
    value: Any
    why: str

    @property
    def parameter(self) -> str:
        """The full name."""
        return ".".join(part for part in (self.section, self.group, self.name) if part)


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
    if out.suffix.lower() != ".usda":
        raise CaptureError(out, "a layer named *.usda", out.suffix or "a name without a suffix")
    remarks = Remarks()
    with reading(scene, remarks):
        stage = open_stage(scene)
        select_as_asked(scene, stage, source)
        if out.absolute() in {path.absolute() for path in layer_files(stage)}:
            raise CaptureError(out, "a layer that is not part of the scene yet", "one of its own")
        work = _Override(stage, out, source)
        work.make(changes, selections)
        left = work.left()
        text = work.layer_text(why) if work.done else None
    if text is not None:
        write_document(out, text)
    return len(work.done), left


def is_of_fixes(layer: Path) -> bool:
    """Whether a file is a layer that `write_override` wrote. Raises `CaptureError` for one that cannot be read."""
    check_file(layer)
    with reading(layer, Remarks()):
        stated = Sdf.Layer.OpenAsAnonymous(str(layer), metadataOnly=True).customLayerData.get(DATUM)
        return isinstance(stated, dict) and stated.get(_FIXES) is True


_FIXES = "fixes"
"""In what a layer says of itself: that it is one of fixes."""


class _Override:
    """A layer over a scene, and what was written into it."""

    def __init__(self, stage: Any, out: Path, source: Mapping[str, Any]) -> None:
        self.stage, self.source = stage, dict(source)
        self._folder = Path(stage.GetRootLayer().realPath).parent
        self.done: list[Change] = []
        self._left: list[str] = []
        self._whys: dict[str, list[str]] = {}
        self.layer = Sdf.Layer.CreateAnonymous("samelight.usda")
        # Time samples count in this layer's own time codes.
        self.layer.timeCodesPerSecond = stage.GetTimeCodesPerSecond()
        stage.GetSessionLayer().subLayerPaths.append(self.layer.identifier)
        stage.SetEditTarget(self.layer)
        self.author = Author(stage, out, _metres(stage))

    def left(self) -> list[str]:
        """What could not be done, each thing once."""
        return list(dict.fromkeys(self._left))

    def make(self, changes: Sequence[Change], selections: Selections = MappingProxyType({})) -> None:
        """Write every change, then read the scene again and take note of what did not come out."""
        groups: dict[tuple[str, str], list[Change]] = {}
        for change in changes:
            groups.setdefault((change.section, change.group), []).append(change)
        self._switch_on(groups, selections)
        found: list[tuple[Any, list[Change]]] = []
        for (section, group), mine in groups.items():
            if not mine:
                continue
            try:
                found.append((self._prim(section, group, mine), mine))
            except NoWayError as error:
                self._left.append(f"{section}.{group}: {error}")
        scene = self._scene()
        # What is above is placed before what is below it.
        for prim, mine in sorted(found, key=lambda pair: pair[0].GetPath()):
            self._group(scene, prim, mine)
        self._check()

    def _switch_on(self, groups: dict[tuple[str, str], list[Change]], selections: Selections) -> None:
        """Switch on what is to be there and is off, and ask of it what makes it as the change has it."""
        on: dict[tuple[str, str], Change] = {}
        for (section, group), mine in groups.items():
            whole = next((one for one in mine if one.name == "" and one.value is not None), None)
            if whole is None or section not in _LIT:
                continue
            found = switch_on(self.stage, group, selections, set(self._lights().values()))
            if found is None:
                continue
            path, did = found
            self.source["lights"] = {**self._lights(), group: path}
            self._whys.setdefault(path, []).append(f"{did}: {whole.why}".removesuffix(": "))
            self.done.append(whole)
            on[section, group] = whole
        if not on:
            return
        scene = self._scene()
        for key, whole in on.items():
            groups[key] = []
            here, wanted = flat_names(self._captured(scene, *key)), flat_names(whole.value)
            for name in {**here, **wanted}:
                follows = name in HASHES or name in ("missing_links", "mirrored")
                if not follows and not _alike(here.get(name), wanted.get(name)):
                    groups[key].append(Change(*key, name, wanted.get(name), whole.why))

    def _lights(self) -> Mapping[str, Any]:
        lights = self.source.get("lights")
        return lights if isinstance(lights, Mapping) else {}

    def _group(self, scene: Scene, prim: Any, changes: Sequence[Change]) -> None:
        placing = [change for change in changes if change.name in (*AIM, *TURN)]
        names = {change.name for change in changes}
        for change in changes:
            if names & _WITH.get(change.name, set()):
                self.done.append(change)  # it comes with the other, which the check sees to
            elif change not in placing:
                self._try([change], prim, partial(self._one, scene, prim, change))
        if placing:
            wanted = {change.name: change.value for change in placing if change.value is not None}
            place = turn if placing[0].section == ENVIRONMENTS else aim
            if self._try(placing, prim, partial(place, scene, prim, wanted)):
                self._moved_along(prim)

    def _try(self, changes: Sequence[Change], prim: Any, work: Callable[[], None]) -> bool:
        """Do what makes these changes, or note why there is no way."""
        why = ""
        try:
            work()
        except NoWayError as error:
            why = str(error)
        except Tf.ErrorException:
            why = "USD takes no such value there"
        if why:
            self._left += [f"{change.parameter}: {why}" for change in changes]
            return False
        self.done += changes
        says = [f"{change.name or 'taken out'}: {change.why}".removesuffix(": ") for change in changes]
        self._whys.setdefault(str(prim.GetPath()), []).extend(says)
        return True

    def _moved_along(self, prim: Any) -> None:
        """Note the lights that stand below one that was placed anew, and so moved with it."""
        below = [path for path in self._lights().values() if str(path).startswith(f"{prim.GetPath()}/")]
        if below:
            self._left.append(f"{', '.join(below)}: below {prim.GetPath()}, and so moved along with it")

    def _prim(self, section: str, group: str, changes: Sequence[Change]) -> Any:
        if section == RENDER:
            path = self.source.get("render_settings")
            if not isinstance(path, str) or Sdf.Path(path).name != group:
                raise NoWayError("a layer sets only the render settings that the scene itself names")
        elif section in _LIT:
            if any(change.name == "" and change.value is not None for change in changes):
                raise NoWayError("it is not in the scene; a layer of overs cannot add it")
            path = self._lights().get(group)
        else:
            raise NoWayError("a scene does not hold it; set it by hand")
        prim = self.stage.GetPrimAtPath(path) if isinstance(path, str) else None
        if not prim:
            raise NoWayError("its prim is not in the scene")
        if prim.IsInstanceProxy():
            above = prim
            while above.IsInstanceProxy():
                above = above.GetParent()
            raise NoWayError(
                f"{path} is inside the instance {above.GetPath()}, where no layer reaches it: set `instanceable = false` "
                "there, or mend what is instanced"
            )
        return prim

    def _one(self, scene: Scene, prim: Any, change: Change) -> None:
        if change.name == "":
            prim.SetActive(False)
        else:
            self.author.set(prim, change.name, change.value, scene)

    def _scene(self) -> Scene:
        """The scene with the layer over it, as the capture reads it."""
        remarks = Remarks()
        found = find(self.stage, remarks)
        held = self.stage.GetInterpolationType() == Usd.InterpolationTypeHeld
        return scene_of(
            self.stage,
            StageClock(asked_span(self.stage, self.source), held, remarks),
            found.geometry,
            remarks,
            (self._folder,),
        )

    def _check(self) -> None:
        """Capture what was changed once more, with the layer over the scene."""
        scene = self._scene()
        captured: dict[tuple[str, str], Mapping[str, Any]] = {}
        for change in self.done:
            # A file may go by another path, and what was taken out by the schema's fallback.
            if change.name in ("", "texture", "ies") or (change.value is None and change.name in _WRITTEN):
                continue
            key = (change.section, change.group)
            if key not in captured:
                captured[key] = flat_names(self._captured(scene, *key))
            found = captured[key].get(change.name)
            if not _alike(found, change.value):
                self._left.append(f"{change.parameter}: it still comes out as {_shown(found)}")

    def _captured(self, scene: Scene, section: str, group: str) -> Mapping[str, Any]:
        if section == RENDER:
            prim = self.stage.GetPrimAtPath(self.source["render_settings"])
            render, _ = capture_render(scene, [prim])
            return next(iter(render.values()), {})
        prim = self.stage.GetPrimAtPath(self.source["lights"][group])
        return capture_dome(scene, prim) if is_dome(prim) else capture_light(scene, prim)

    def layer_text(self, why: str) -> str:
        """The layer as text, with the units and axes that its numbers are in."""
        root = self.stage.GetRootLayer()
        for name in _METADATA:
            if root.pseudoRoot.HasInfo(name):
                self.layer.pseudoRoot.SetInfo(name, root.pseudoRoot.GetInfo(name))
        for attribute, short in self.author.short_paths.items():
            self.layer.GetAttributeAtPath(attribute).default = Sdf.AssetPath(short)
        self.layer.documentation = why
        self.layer.customLayerData = {DATUM: {_FIXES: True}}
        for path, whys in self._whys.items():
            # Of a light that came with what is above it, the layer itself may say nothing.
            spec = self.layer.GetPrimAtPath(path) or Sdf.CreatePrimInLayer(self.layer, path)
            spec.documentation = "\n".join(dict.fromkeys(whys))
        text: str = self.layer.ExportToString()
        return text


_METADATA = (
    "upAxis",
    "metersPerUnit",
    "timeCodesPerSecond",
    "framesPerSecond",
    "startTimeCode",
    "endTimeCode",
    "defaultPrim",
)
_WITH: dict[str, set[str]] = {
    **{name: {of} for name, of in HASHES.items()},
    "missing_links": {"light_links", "shadow_links", "filters"},
}
"""Names that follow from others of the same light."""
_WRITTEN = frozenset(
    {
        *TURN,
        "light_links",
        "shadow_links",
        *(row.sheet for row in ROWS if row.keep is Keep.ALWAYS),
    }
)
"""Names that a capture writes whatever is authored, or one for the other."""


def _metres(stage: Any) -> float:
    return float(UsdGeom.GetStageMetersPerUnit(stage))


def _alike(found: Any, asked: Any) -> bool:
    if is_keyed(found) or is_keyed(asked):
        frames = frames_of(found, asked)
        return all(_alike(value_at(found, frame), value_at(asked, frame)) for frame in frames)
    if asked is True and found is None:  # visible, which a capture leaves out
        return True
    if isinstance(found, list) and isinstance(asked, list):
        if all(isinstance(item, str) for item in (*found, *asked)):
            return sorted(found) == sorted(asked)
        size = max((abs(item) for item in asked if is_number(item)), default=0.0)
        return len(found) == len(asked) and all(_near(a, b, size) for a, b in zip(found, asked, strict=True))
    return _near(found, asked, abs(asked) if is_number(asked) else 0.0)


def _near(a: Any, b: Any, size: float) -> bool:
    if is_number(a) and is_number(b):
        return finite(float(a)) and abs(a - b) <= _NEAR * max(size, abs(b), 1e-3)
    return type(a) is type(b) and bool(a == b)


def _shown(value: Any) -> str:
    if isinstance(value, Mapping):
        return "animated"
    return "none" if value is None else str(value)[:80]

"""A layer of overs over an opened scene, under construction.

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

from samelight.sheets.keyed import flat_names
from samelight.sheets.switches import Selections
from samelight.sources.errors import CaptureError
from samelight.sources.remarks import Remarks
from samelight.sources.usd.attributes import ROWS, Keep
from samelight.sources.usd.author import HASHES, Author, NoWayError, path_beside
from samelight.sources.usd.domes import capture_dome, is_dome
from samelight.sources.usd.files import layer_files
from samelight.sources.usd.find import find
from samelight.sources.usd.lights import capture_light
from samelight.sources.usd.master_version import DATUM
from samelight.sources.usd.place import AIM, TURN, aim, turn
from samelight.sources.usd.render import capture_render
from samelight.sources.usd.scene import Scene, scene_of
from samelight.sources.usd.switch_on import switch_on
from samelight.sources.usd.time import StageClock, asked_span
from samelight.sources.usd.values_alike import alike, shown_value

LIGHTS, ENVIRONMENTS, RENDER = "lights", "environments", "render"
_LIT = (LIGHTS, ENVIRONMENTS)


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


def check_name(out: Path) -> None:
    """Raise `CaptureError` for a name that a layer cannot have."""
    if out.suffix.lower() != ".usda":
        raise CaptureError(out, "a layer named *.usda", out.suffix or "a name without a suffix")


def check_place(out: Path, stage: Any) -> None:
    """Raise `CaptureError` where a layer would be written over one that a scene is made of."""
    if out.resolve() in {path.resolve() for path in layer_files(stage)}:
        raise CaptureError(out, "a layer that is not part of the scene yet", "one of its own")


class OverLayer:
    """A layer over a scene, and what was written into it."""

    def __init__(self, stage: Any, out: Path, source: Mapping[str, Any], roots: Sequence[Path] = ()) -> None:
        self.stage, self.source = stage, dict(source)
        self._out = out
        self._readable = (Path(stage.GetRootLayer().realPath).parent, *roots)
        self.done: list[Change] = []
        self.taken_out: set[str] = set()
        """Layers by their whole paths that a reference named and this layer takes out."""
        self._left: list[str] = []
        self._whys: dict[str, list[str]] = {}
        self.layer = Sdf.Layer.CreateAnonymous("samelight.usda")
        # Time samples count in this layer's own time codes.
        self.layer.timeCodesPerSecond = stage.GetTimeCodesPerSecond()
        stage.GetSessionLayer().subLayerPaths.append(self.layer.identifier)
        stage.SetEditTarget(self.layer)
        self.author = Author(stage, out, float(UsdGeom.GetStageMetersPerUnit(stage)))

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
        scene = self.scene()
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
        scene = self.scene()
        for key, whole in on.items():
            groups[key] = [
                Change(*key, name, value, whole.why)
                for name, value in self.differences(scene, key, whole.value)
            ]

    def differences(
        self, scene: Scene, key: tuple[str, str], wanted: Mapping[str, Any]
    ) -> list[tuple[str, Any]]:
        """The names in which a group of the scene is not as wanted, and what each is to be; what follows from others is left out, and so
        are the names of one file."""
        here, asked = flat_names(self._captured(scene, *key)), flat_names(wanted)
        same_files = {HASHES[name] for name in HASHES if here.get(name) == asked.get(name) is not None}
        return [
            (name, asked.get(name))
            for name in {**here, **asked}
            if name not in HASHES
            and name not in _FOLLOWING
            and name not in same_files
            and not alike(here.get(name), asked.get(name))
        ]

    def has_render(self, group: str) -> bool:
        """Whether a group of render settings is what the scene itself names."""
        path = self.source.get("render_settings")
        return isinstance(path, str) and Sdf.Path(path).name == group and bool(self.stage.GetPrimAtPath(path))

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

    def scene(self) -> Scene:
        """The scene with the layer over it, as the capture reads it."""
        remarks = Remarks()
        found = find(self.stage, remarks)
        held = self.stage.GetInterpolationType() == Usd.InterpolationTypeHeld
        return scene_of(
            self.stage,
            StageClock(asked_span(self.stage, self.source), held, remarks),
            found.geometry,
            remarks,
            self._readable,
        )

    def _check(self) -> None:
        """Capture what was changed once more, with the layer over the scene."""
        scene = self.scene()
        captured: dict[tuple[str, str], Mapping[str, Any]] = {}
        for change in self.done:
            # A file may go by another path, and what was taken out by the schema's fallback.
            if change.name in ("", "texture", "ies") or (change.value is None and change.name in _WRITTEN):
                continue
            key = (change.section, change.group)
            if key not in captured:
                captured[key] = flat_names(self._captured(scene, *key))
            found = captured[key].get(change.name)
            if not alike(found, change.value):
                self._left.append(f"{change.parameter}: it still comes out as {shown_value(found)}")

    def _captured(self, scene: Scene, section: str, group: str) -> Mapping[str, Any]:
        if section == RENDER:
            prim = self.stage.GetPrimAtPath(self.source["render_settings"])
            render, _ = capture_render(scene, [prim])
            return next(iter(render.values()), {})
        prim = self.stage.GetPrimAtPath(self.source["lights"][group])
        return capture_dome(scene, prim) if is_dome(prim) else capture_light(scene, prim)

    def layer_text(self, why: str, datum: Mapping[str, Any]) -> str:
        """The layer as text, with the units and axes that its numbers are in; `datum` is what it says of itself."""
        root = self.stage.GetRootLayer()
        for name in _METADATA:
            if root.pseudoRoot.HasInfo(name):
                self.layer.pseudoRoot.SetInfo(name, root.pseudoRoot.GetInfo(name))
        for attribute, short in self.author.short_paths.items():
            self.layer.GetAttributeAtPath(attribute).default = Sdf.AssetPath(short)
        offsets = list(self.layer.subLayerOffsets)
        for layer in {*self.layer.GetCompositionAssetDependencies(), *self.taken_out}:
            self.layer.UpdateCompositionAssetDependency(layer, path_beside(self._out, layer))
        for place, offset in enumerate(offsets):  # another path makes USD forget it
            self.layer.subLayerOffsets[place] = offset
        self.layer.documentation = why
        self.layer.customLayerData = {DATUM: dict(datum)}
        for path, whys in self._whys.items():
            # Of a light that came with what is above it, the layer itself may say nothing.
            spec = self.layer.GetPrimAtPath(path) or Sdf.CreatePrimInLayer(self.layer, path)
            spec.documentation = "\n".join(dict.fromkeys(whys))
        text: str = self.layer.ExportToString()
        return text


_FOLLOWING = frozenset({"missing_links", "mirrored"})
"""Names that follow from others, beside `HASHES`."""
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

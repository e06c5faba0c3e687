"""A shot's adoption of a master as a USD layer over its scene: the master's own layer, by a sublayer or in the place of a reference,
and overs that keep what is the shot's.

The scene is read again with the layer over it before anything is written: what does not come out as asked is told.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from pxr import Pcp, Sdf, Usd, UsdGeom

from samelight.sheets.documents import write_document
from samelight.sheets.keyed import flat_names
from samelight.sources.errors import CaptureError
from samelight.sources.remarks import Remarks
from samelight.sources.usd.find import find
from samelight.sources.usd.frames import stated_codes, told
from samelight.sources.usd.master_version import ADOPTS, is_master
from samelight.sources.usd.open import open_stage, reading
from samelight.sources.usd.over_layer import Change, OverLayer, check_place
from samelight.sources.usd.values_alike import alike
from samelight.sources.usd.variants import select_as_asked

_LIT = ("lights", "environments")


@dataclass(frozen=True, slots=True)
class NewMaster:
    """The layer of a master setup, its version, and where in it each light stands. `pattern` is how such layers are called, "" where
    they say themselves what they are."""

    layer: Path
    version: int
    lights: Mapping[str, str]
    pattern: str = ""
    later: float = 0.0
    """Frames by which what it animates comes later in the shot."""


@dataclass(frozen=True, slots=True)
class Adopted:
    """What a layer came to be: `by` says how it brings the master, `kept` counts the values that it sets beside, and `left` is what
    could not be done."""

    by: str
    kept: int
    left: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Site:
    """A prim at which a scene references a layer of a master, the prim of it that stands there, and the reference, where a layer of
    the scene's own states it."""

    path: Any
    target: Any
    stated: Any = None
    is_payload: bool = False


def write_adopted(
    out: Path,
    scene: Path,
    before: Mapping[str, Any],
    wanted: Mapping[str, Any],
    master: NewMaster,
    why: str,
    roots: tuple[Path, ...] = (),
) -> Adopted:
    """Write the layer `out` that lays a master over a scene so that the scene gives the sheet `wanted`.

    `before` is the sheet that was captured from it. In the folders `roots` files are read beside the scene's own. Raises `CaptureError` for a scene, or a master's layer, that cannot be read,
    `WriteError` for a layer that cannot be written.
    """
    with reading(scene, Remarks()):
        stage = open_stage(scene)
        source = before.get("source")
        source = source if isinstance(source, Mapping) else {}
        codes = stated_codes(source)
        before, wanted = ({**tree, **_in_codes(tree, codes)} for tree in (before, wanted))
        master = replace(master, later=master.later * codes)
        select_as_asked(scene, stage, source)
        check_place(out, stage)
        layer = Sdf.Layer.FindOrOpen(str(master.layer))
        if not layer:
            raise CaptureError(master.layer, "a layer of a master setup", "none that can be read")
        work = OverLayer(stage, out, source, roots)
        there = _lit_paths(stage)
        sites = list(_sites(stage, layer, master.pattern))
        if sites:
            by = _by_reference(work, sites, master)
        else:
            by = _by_sublayer(work, layer, master, _named(source))
        lights = {**_placed(master.lights, sites), **_named(source)}
        stated = {name for section in _LIT for name in _groups(wanted, section)}
        work.source["lights"] = {name: path for name, path in lights.items() if name in stated}
        work.make(_changes(work, before, wanted, there, master.version))
        text = work.layer_text(why, {"master": master.version, ADOPTS: True})
    write_document(out, text)
    return Adopted(by, len(work.done), tuple(work.left()))


def _named(source: Mapping[str, Any]) -> dict[str, str]:
    lights = source.get("lights")
    return dict(lights) if isinstance(lights, Mapping) else {}


def _in_codes(tree: Mapping[str, Any], codes: float) -> dict[str, Any]:
    return {section: told(tree[section], codes) for section in (*_LIT, "render") if section in tree}


def _groups(tree: Mapping[str, Any], section: str) -> Mapping[str, Any]:
    groups = tree.get(section)
    return groups if isinstance(groups, Mapping) else {}


def _lit_paths(stage: Any) -> set[str]:
    found = find(stage, Remarks())
    return {str(prim.GetPath()) for prim in (*found.lights, *found.domes)}


def _sites(stage: Any, new: Any, pattern: str) -> Iterator[_Site]:
    """Where a scene references layers of masters."""
    own = set(stage.GetLayerStack())
    for prim in Usd.PrimRange.Stage(stage):
        layers = {spec.layer for spec in prim.GetPrimStack()} - own
        if not any(is_master(one, pattern) or one == new for one in layers):
            continue
        for arc in Usd.PrimCompositionQuery(prim).GetCompositionArcs():
            kind, layer = arc.GetArcType(), arc.GetTargetLayer()
            of_kind = kind in (Pcp.ArcTypeReference, Pcp.ArcTypePayload)
            if not of_kind or arc.IsAncestral() or not is_master(layer, pattern):
                continue
            stated = arc.GetIntroducingListEditor()
            here = arc.GetIntroducingLayer() in own and stated is not None
            yield _Site(
                prim.GetPath(),
                arc.GetTargetPrimPath(),
                (arc.GetIntroducingLayer(), stated[1]) if here else None,
                kind == Pcp.ArcTypePayload,
            )
            break


def _by_reference(work: OverLayer, sites: list[_Site], master: NewMaster) -> str:
    """Reference the new master's layer where the old one stands, which is taken out."""
    for site in sites:
        if not Sdf.Layer.FindOrOpen(str(master.layer)).GetPrimAtPath(site.target):
            raise CaptureError(master.layer, f"a prim {site.target}, which stands at {site.path}", "none")
        spec = Sdf.CreatePrimInLayer(work.layer, site.path)
        if site.stated is not None:
            layer, was = site.stated
            path = layer.ComputeAbsolutePath(was.assetPath)
            work.taken_out.add(path)
            if site.is_payload:
                spec.payloadList.deletedItems = [Sdf.Payload(path, was.primPath, was.layerOffset)]
            else:
                spec.referenceList.deletedItems = [
                    Sdf.Reference(path, was.primPath, was.layerOffset, was.customData)
                ]
        spec.referenceList.prependedItems = [
            Sdf.Reference(str(master.layer), site.target, Sdf.LayerOffset(master.later))
        ]
    return f"a reference at {', '.join(str(site.path) for site in sites)}"


def _by_sublayer(work: OverLayer, layer: Any, master: NewMaster, named: Mapping[str, str]) -> str:
    """Lay the new master's layer over the scene, where the shot's lights stand as in it; what it says of prims above lights does
    not count for those that the scene has."""
    if any(master.lights.get(name, path) != path for name, path in named.items()):
        return "values alone, since the shot's lights stand elsewhere than the master's"
    stage = work.stage
    lit = {Sdf.Path(path) for path in master.lights.values()}
    scene = [
        (path, [(name, _stated(stage, path, name)) for name in ("xformOpOrder", UsdGeom.Tokens.visibility)])
        for path in _prim_paths(layer)
        if path not in lit and stage.GetPrimAtPath(path)
    ]
    placed = [(path, _stated(stage, path, "xformOp:transform")) for path, _ in scene]
    work.layer.subLayerPaths.append(str(master.layer))
    work.layer.subLayerOffsets[0] = Sdf.LayerOffset(master.later)
    for path, attributes in scene:
        for name, was in attributes:
            if layer.GetAttributeAtPath(path.AppendProperty(name)):
                _keep(stage, path, name, was)
    for path, was in placed:
        if was is not None and layer.GetAttributeAtPath(path.AppendProperty("xformOp:transform")):
            _keep(stage, path, "xformOp:transform", was)
    return "a sublayer"


def _prim_paths(layer: Any) -> list[Any]:
    found: list[Any] = []
    layer.Traverse(Sdf.Path.absoluteRootPath, lambda path: found.append(path) if path.IsPrimPath() else None)
    return sorted(found)


def _stated(stage: Any, path: Any, name: str) -> Any:
    """What an attribute states, its time samples or one value; None where it states nothing."""
    attribute = stage.GetPrimAtPath(path).GetAttribute(name)
    if not attribute or not attribute.HasAuthoredValue():
        return None
    samples = attribute.GetTimeSamples()
    return {time: attribute.Get(time) for time in samples} if samples else attribute.Get()


def _keep(stage: Any, path: Any, name: str, was: Any) -> None:
    attribute = stage.GetPrimAtPath(path).GetAttribute(name)
    if was is None:
        attribute.Block()
    elif isinstance(was, dict):
        for time, value in was.items():
            attribute.Set(value, time)
    else:
        attribute.Set(was)


def _placed(lights: Mapping[str, str], sites: list[_Site]) -> dict[str, str]:
    """Where the lights of a master's layer stand in the scene."""
    if not sites:
        return dict(lights)
    found = {}
    for name, path in lights.items():
        for site in sites:
            if Sdf.Path(path).HasPrefix(site.target):
                found[name] = str(Sdf.Path(path).ReplacePrefix(site.target, site.path))
                break
    return found


def _changes(
    work: OverLayer,
    before: Mapping[str, Any],
    wanted: Mapping[str, Any],
    there: set[str],
    version: int,
) -> list[Change]:
    """What the scene is to have beside the new master's layer."""
    names = work.source["lights"]
    changes: list[Change] = []
    scene = work.scene()
    now = _lit_paths(work.stage)
    for section in (*_LIT, "render"):
        for group, whole in _groups(wanted, section).items():
            if section == "render" and not work.has_render(group):
                continue
            own = flat_names(_groups(_groups(before, section), group))
            if section in _LIT and names.get(group) not in now:
                changes.append(Change(section, group, "", whole, f"as in master {version}"))
                continue
            for name, value in work.differences(scene, (section, group), whole):
                kept = name in own and alike(own[name], value)
                why = "kept, as it was" if kept else f"as in master {version}"
                changes.append(Change(section, group, name, value, why))
    known = {path: name for name, path in _named(_groups(before, "source")).items()}
    for path in sorted(now - set(names.values())):
        if path in known or path not in there:
            name = known.get(path, Sdf.Path(path).name)
            section = "environments" if name in _groups(before, "environments") else "lights"
            work.source["lights"] = {**work.source["lights"], name: path}
            changes.append(Change(section, name, "", None, f"not of this shot with master {version}"))
    return changes

"""A USD scene into a sheet: its lights, environments, camera, marks, render settings and passes.

Everything spatial is turned into metres and a Y-up right-handed world; intensities, exposures and colours stay
the numbers that USD reports, in nit.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from pxr import Sdf, Usd, UsdGeom, UsdRender

from samelight.sheets.errors import nearest_name, shown
from samelight.sheets.switches import INACTIVE, VARIANTS
from samelight.sheets.vocabulary import UNAUTHORED
from samelight.sources.errors import CaptureError
from samelight.sources.in_the_way import add_what_is_seen
from samelight.sources.naming import moved_roots, names_of, short_names
from samelight.sources.provenance import MISSING, name_beside, used_files
from samelight.sources.remarks import Remarks
from samelight.sources.request import THE_WHOLE, WITHOUT_PICTURES, CaptureRequest, Known
from samelight.sources.usd.attributes import ROWS, Keep
from samelight.sources.usd.camera import capture_camera, capture_mark
from samelight.sources.usd.colours import DEFAULT
from samelight.sources.usd.domes import capture_dome
from samelight.sources.usd.files import layer_files
from samelight.sources.usd.find import Prims, find
from samelight.sources.usd.frames import CODES, codes_per_frame, told
from samelight.sources.usd.lights import capture_light
from samelight.sources.usd.master_version import stated_master
from samelight.sources.usd.open import open_stage, reading
from samelight.sources.usd.render import capture_render
from samelight.sources.usd.scene import Scene, scene_of
from samelight.sources.usd.shadows import Shadows
from samelight.sources.usd.solids import StageSolids
from samelight.sources.usd.time import StageClock
from samelight.sources.usd.unresolved import tell_unresolved
from samelight.sources.usd.values import authored_names
from samelight.sources.usd.variants import select


def capture_usd(scene: Path, request: CaptureRequest = THE_WHOLE) -> dict[str, Any]:
    """The plain tree of a version 1 sheet: dicts, lists, text, numbers and bools, ready to be written.

    Frames are time codes; by default those of the scene, and all its samples where it has none. Raises `CaptureError` for
    a file that is no readable USD scene and for paths that are not in it; all else that is amiss stands in the sheet's
    `remarks`.
    """
    remarks = Remarks()
    with reading(scene, remarks):
        tree = _capture(scene, request, remarks)
    said = remarks.sentences()
    return {**request.head(scene), **tree, **({"remarks": said} if said else {})}


_COUNTS_CODES = "The scene counts {codes:g} time codes a frame; its times are told in frames, of which a second has {rate:g}."


def _capture(path: Path, request: CaptureRequest, remarks: Remarks) -> dict[str, Any]:
    stage = open_stage(path)
    select(path, stage, request.variants)
    missing, unread = tell_unresolved(path, stage, remarks)
    codes = codes_per_frame(stage, request.frame_rate if request.keeps_rate else None)
    span = _frames(path, stage, request.frames, codes, remarks)
    held = stage.GetInterpolationType() == Usd.InterpolationTypeHeld
    found = find(stage, remarks)
    clock = StageClock(span, held, remarks)
    readable, pictures = request.readable(path), request.reads_pictures
    scene = scene_of(stage, clock, found.geometry, remarks, readable, reads_pictures=pictures)
    if not pictures:
        remarks.note(WITHOUT_PICTURES)
    _check_units(path, scene)
    chosen = _chosen(path, [*found.lights, *found.domes], request.lights)
    camera = _camera(path, scene, found.cameras, request.camera)
    marked = _marks(path, scene, found.marks, request.marks)
    lit = _Lit(scene, chosen, frozenset(found.domes))
    named = names_of(lit.prims, request.known, lit.values)
    names = {named[path]: prim for path, prim in lit.prims.items()}
    _tell_moved(named, request.known, remarks)
    tree = _spaces(scene, None if span is None else (span[0] / codes, span[1] / codes))
    stated = stated_master(stage, request.master_layers, remarks) if request.master is None else None
    if stated is not None:
        tree["master"] = stated
    if camera is not None:
        tree["camera"] = capture_camera(scene, camera)
    tree |= _sections(scene, names, lit, marked)
    render, passes = capture_render(scene, found.render)
    tree |= {section: groups for section, groups in (("render", render), ("passes", passes)) if groups}
    settings = UsdRender.Settings.GetStageRenderSettings(stage)
    space = scene.colours.rendering or (DEFAULT if scene.colours.assumed else None)
    if space is not None:
        tree["working_space"] = space
    source = _source(path, scene, settings, camera, unread)
    if missing := {*missing, *scene.files.missing}:
        source[MISSING] = sorted(name_beside(path, file) for file in missing)
    source |= _of_lights(tree, names) | _switches(path, found, chosen)
    if codes != 1.0:
        source[CODES] = codes
        rate = stage.GetTimeCodesPerSecond() / codes
        remarks.note(_COUNTS_CODES.format(codes=codes, rate=rate))
        tree = {name: told(value, 1.0 / codes) for name, value in tree.items()}
    tree["source"] = source
    if not chosen:
        remarks.note("The scene has no lights.")
    if tree.get("marks"):
        whole = {**request.head(path), **tree}
        add_what_is_seen(whole, StageSolids(scene).geometry, Shadows(names, marked).casts, remarks)
    return tree


def _tell_moved(named: Mapping[str, str], known: Known, remarks: Remarks) -> None:
    for was, now, count in moved_roots(named, known):
        stand = "stands" if count == 1 else "stand"
        remarks.note(f"Of the master's lights {count:,} {stand} below {now} here, and below {was} there.")


def _spaces(scene: Scene, span: tuple[float, float] | None) -> dict[str, Any]:
    """What the numbers of the sheet are stated in."""
    tree: dict[str, Any] = {}
    if span is not None:
        tree["frames"] = [math.floor(span[0]), math.ceil(span[1])]
    tree["units"] = {"length": "m", "level": "nit"}
    if scene.space.metres != 1.0:
        tree["units"]["area"] = scene.space.metres
    tree["up_axis"] = "Y"
    return tree


class _Lit:
    """The lights and domes of a scene by their paths, each read once, when somebody first asks for it."""

    def __init__(self, scene: Scene, prims: Iterable[Any], domes: Collection[Any]) -> None:
        self.prims = {str(prim.GetPath()): prim for prim in prims}
        self.domes = {str(prim.GetPath()) for prim in domes}
        self._scene = scene
        self._values: dict[str, dict[str, Any]] = {}

    def values(self, path: str) -> dict[str, Any]:
        """What a light states, as a sheet has it."""
        if path not in self._values:
            read = capture_dome if path in self.domes else capture_light
            self._values[path] = read(self._scene, self.prims[path])
        return self._values[path]


def _sections(scene: Scene, names: Mapping[str, Any], lit: _Lit, marked: Mapping[str, Any]) -> dict[str, Any]:
    """The marks, lights and environments of the sheet."""
    marks = {name: mark for name, prim in marked.items() if (mark := capture_mark(scene, prim)) is not None}
    paths = {name: str(prim.GetPath()) for name, prim in names.items()}
    lights = {name: lit.values(path) for name, path in paths.items() if path not in lit.domes}
    environments = {name: lit.values(path) for name, path in paths.items() if path in lit.domes}
    return {
        **({"marks": marks} if marks else {}),
        "lights": lights,
        **({"environments": environments} if environments else {}),
    }


def _frames(
    path: Path, stage: Any, frames: tuple[int, int] | None, codes: float, remarks: Remarks
) -> tuple[float, float] | None:
    """The time codes between which the scene is read."""
    if frames is not None:
        if frames[0] > frames[1]:
            raise CaptureError(path, "frames from first to last", f"{frames[0]} to {frames[1]}")
        return frames[0] * codes, frames[1] * codes
    if not stage.HasAuthoredTimeCodeRange():
        return None
    first, last = float(stage.GetStartTimeCode()), float(stage.GetEndTimeCode())
    if not (math.isfinite(first) and math.isfinite(last) and first <= last):
        remarks.note(
            f"The scene's range of time codes, {first:g} to {last:g}, is none; every sample was taken."
        )
        return None
    return first, last


def _check_units(path: Path, scene: Scene) -> None:
    if scene.space.up_axis not in ("Y", "Z"):
        raise CaptureError(path, "upAxis Y or Z", shown(str(scene.space.up_axis)))
    metres = scene.space.metres
    if not (math.isfinite(metres) and metres > 0):
        raise CaptureError(path, "metersPerUnit above 0", f"{metres:g}")
    if scene.space.metres_assumed:
        scene.remarks.note(
            f"The scene does not say its metersPerUnit; USD's fallback of {metres:g} was assumed."
        )


def _chosen(path: Path, prims: Sequence[Any], asked: Sequence[str]) -> list[Any]:
    """The lights asked for by path, by the path of a group above, or by name; all where none is asked for."""
    if not asked:
        return list(prims)
    chosen: dict[str, Any] = {}
    for one in asked:
        below = one.rstrip("/") + "/"
        matching = [prim for prim in prims if prim.GetName() == one or f"{prim.GetPath()}/".startswith(below)]
        if not matching:
            known = [name for prim in prims for name in (str(prim.GetPath()), str(prim.GetName()))]
            raise CaptureError(
                path, "a light, or a group of lights", f"none at {one}", nearest=nearest_name(one, known)
            )
        chosen |= {str(prim.GetPath()): prim for prim in matching}
    return [prim for prim in prims if str(prim.GetPath()) in chosen]


def _prim_at(path: Path, scene: Scene, asked: str, what: str, known: Iterable[str] = ()) -> Any:
    prim = scene.stage.GetPrimAtPath(asked) if Sdf.Path.IsValidPathString(asked) else None
    if not prim:
        raise CaptureError(path, what, f"no prim at {asked}", nearest=nearest_name(asked, known))
    return prim


def _camera(path: Path, scene: Scene, cameras: Sequence[Any], asked: str | None) -> Any:
    if asked is not None:
        prim = _prim_at(path, scene, asked, "a camera", [str(prim.GetPath()) for prim in cameras])
        if not prim.IsA(UsdGeom.Camera):
            raise CaptureError(
                path, "a camera", f"a {prim.GetTypeName() or 'prim without a type'} at {asked}"
            )
        return prim
    if len(cameras) > 1:
        others = ", ".join(str(prim.GetPath()) for prim in cameras[1:4])
        scene.remarks.note(
            f"Of {len(cameras)} cameras the sheet takes the first, {cameras[0].GetPath()}; others are {others}."
        )
    return cameras[0] if cameras else None


def _marks(path: Path, scene: Scene, found: dict[Any, str], asked: Sequence[str]) -> dict[str, Any]:
    prims = {str(prim.GetPath()): (prim, name) for prim, name in found.items()}
    for one in asked:
        prim = _prim_at(path, scene, one, "a prim to mark")
        prims.setdefault(str(prim.GetPath()), (prim, str(prim.GetName())))
    shared = Counter(name for _, name in prims.values())
    short = short_names(prims)
    return {name if shared[name] == 1 else short[at]: prim for at, (prim, name) in sorted(prims.items())}


def _source(path: Path, scene: Scene, settings: Any, camera: Any, unread: Iterable[Path]) -> dict[str, Any]:
    source: dict[str, Any] = {
        "scene": path.as_posix(),
        **used_files(path, (*layer_files(scene.stage), *scene.files.read, *unread)),
        "up_axis": scene.space.up_axis,
        "meters_per_unit": scene.space.metres,
        "meters_per_unit_assumed": scene.space.metres_assumed,
        "time_codes_per_second": float(scene.stage.GetTimeCodesPerSecond()),
    }
    if settings:
        source["render_settings"] = str(settings.GetPath())
    if camera is not None:
        source["camera"] = str(camera.GetPath())
    return source


def _of_lights(tree: Mapping[str, Any], names: Mapping[str, Any]) -> dict[str, Any]:
    """Where each light stands in the scene, and what of it nobody has authored."""
    unauthored = {name: left for name, prim in names.items() if (left := _unauthored(tree, name, prim))}
    return {
        "lights": {name: str(prim.GetPath()) for name, prim in names.items()},
        **({UNAUTHORED: unauthored} if unauthored else {}),
    }


def _unauthored(tree: Mapping[str, Any], name: str, prim: Any) -> list[str]:
    """Of what a light's sheet always states, what nobody authored, so that it is the schema's fallback."""
    light = tree["lights"].get(name) or tree["environments"][name]
    authored = authored_names(prim)
    return [
        row.sheet
        for row in ROWS
        if row.keep is Keep.ALWAYS and row.sheet in light and row.usd not in authored
    ]


def _switches(path: Path, found: Prims, chosen: Iterable[Any]) -> dict[str, Any]:
    """The variants that are selected on lights, above them and where lights may be switched, and the lights that are inactive."""
    above = (prim for light in chosen for prim in _and_above(light))
    selected: dict[str, dict[str, str]] = {}
    for prim in dict.fromkeys((*found.switches, *above)):
        sets = prim.GetVariantSets() if prim.HasVariantSets() else None
        names = sorted(sets.GetNames()) if sets else []
        if sets and names:
            selected[str(prim.GetPath())] = {name: sets.GetVariantSelection(name) for name in names}
    inactive = {
        one.path: replace(one, layer=name_beside(path, Path(one.layer))).stated() for one in found.inactive
    }
    stated = {VARIANTS: dict(sorted(selected.items())[:_MOST_SWITCHES]), INACTIVE: inactive}
    return {name: said for name, said in stated.items() if said}


_MOST_SWITCHES = 500


def _and_above(prim: Any) -> Iterator[Any]:
    while prim and not prim.IsPseudoRoot():
        yield prim
        prim = prim.GetParent()

"""A glTF scene into a sheet: its punctual lights, image-based light, camera and marks.

glTF is Y-up and in metres. Its time is in seconds; a sheet's is in frames, so that a frame rate is needed.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from samelight.sheets.errors import nearest_name
from samelight.sheets.names import as_name
from samelight.sources.errors import CaptureError
from samelight.sources.gltf.animation import Timing, last_second, read_animations
from samelight.sources.gltf.camera import cameras_of, capture_camera
from samelight.sources.gltf.file import Asset, read_asset
from samelight.sources.gltf.lights import (
    IMAGE_BASED,
    PUNCTUAL,
    capture_image_based,
    capture_light,
    image_based_light,
    light_of,
    punctual_lights,
)
from samelight.sources.gltf.nodes import Nodes, read_nodes, scene_of
from samelight.sources.gltf.solids import INSTANCING, AssetSolids, NodeShadows
from samelight.sources.gltf.space import VISIBILITY, NodeSpace, faces_to, stands_at
from samelight.sources.in_the_way import add_what_is_seen
from samelight.sources.naming import names_of
from samelight.sources.over_time import Clock
from samelight.sources.provenance import used_files
from samelight.sources.remarks import Remarks
from samelight.sources.request import THE_WHOLE, CaptureRequest

MARK = "samelight:mark"
ENVIRONMENT = "environment"


_CONVENTIONS = {"units": {"length": "m"}, "up_axis": "Y", "working_space": "rec709"}
"""glTF 2.0 specification: metres, +Y is up, and colours are linear with BT.709 primaries."""


def capture_gltf(scene: Path, request: CaptureRequest = THE_WHOLE) -> dict[str, Any]:
    """The plain tree of a version 1 sheet of a .gltf or .glb file.

    Second 0 of the file is the first frame asked for, or frame 0 where none are. Cameras, lights and marks are names of
    nodes or paths of names, `/set/boat/lantern`; a path of a group takes all lights below it. Raises `CaptureError` for
    a file that is no sound glTF 2 and for names that are not in it; what is amiss otherwise, a missing buffer of an
    animation among it, stands in the sheet's `remarks`.
    """
    remarks = Remarks()
    asset = read_asset(scene, request.readable(scene))
    timing = _timing(scene, request)
    span = _span(asset, request.frames, timing)
    nodes = read_nodes(asset, remarks)
    animations = read_animations(asset, timing, remarks)
    space = NodeSpace(nodes, animations, Clock(span, False, remarks))
    found = punctual_lights(asset)
    carriers = _carriers(asset, nodes, len(found))
    chosen = _chosen(scene, nodes, list(carriers), request.lights)
    lit = {
        nodes.paths[node]: capture_light(space, node, carriers[node], found[carriers[node]], remarks)
        for node in chosen
    }
    names = names_of(lit, request.known, lit.__getitem__)
    tree = request.head(scene)
    if span is not None:
        tree["frames"] = [math.floor(span[0]), math.ceil(span[1])]
    tree |= _CONVENTIONS
    looking = _camera(scene, nodes, request.camera, remarks)
    if looking is not None:
        tree["camera"] = capture_camera(space, looking)
    marked = _marked(scene, nodes, request.marks)
    if marked:
        tree["marks"] = {name: _mark(space, node) for name, node in marked.items()}
    tree["lights"] = {names[path]: light for path, light in lit.items()}
    around = image_based_light(asset, scene_of(asset))
    if around is not None and not request.lights:
        tree["environments"] = {_name_around(around[1]): capture_image_based(asset, *around, remarks)}
    _tell_extensions(asset, remarks)
    if not chosen and around is None:
        remarks.note("The scene has no lights.")
    missing = bool(marked) and _look(tree, space, {names[nodes.paths[node]]: node for node in chosen}, marked)
    tree["source"] = _source(scene, asset, timing, animations.missing or missing)
    if looking is not None:
        tree["source"]["camera"] = nodes.paths[looking]
    tree["source"]["lights"] = {names[nodes.paths[node]]: nodes.paths[node] for node in chosen}
    said = remarks.sentences()
    return {**tree, **({"remarks": said} if said else {})}


def _look(
    tree: dict[str, Any], space: NodeSpace, lights: Mapping[str, int], marked: Mapping[str, int]
) -> bool:
    """Add to the marks what they see of the lights past what stands in the way; whether data of that was not to be had."""
    solids = AssetSolids(space, space.clock.remarks)
    casts = NodeShadows(space.nodes, lights, marked).casts
    add_what_is_seen(tree, solids.geometry, casts, space.clock.remarks)
    return solids.missing


READ = frozenset(
    {PUNCTUAL, IMAGE_BASED, INSTANCING, VISIBILITY, "KHR_animation_pointer", "KHR_mesh_quantization"}
)
OF_LIGHTS = frozenset({"EXT_lights_ies"})
"""Extensions of lights that nothing of is read."""


def _tell_extensions(asset: Asset, remarks: Remarks) -> None:
    """Say which extensions a scene requires, or has for its lights, that a capture does not read."""
    stated = {
        key: {name for name in found if isinstance(name, str)}
        for key in ("extensionsRequired", "extensionsUsed")
        if isinstance(found := asset.data.get(key, []), list)
    }
    required = stated.get("extensionsRequired", set()) - READ
    if required:
        remarks.note(f"The scene requires {', '.join(sorted(required))}, of which a capture reads nothing.")
    for name in sorted((stated.get("extensionsUsed", set()) & OF_LIGHTS) - required):
        remarks.note(f"The scene has lights by {name}, of which a capture reads nothing.")


def _timing(scene: Path, request: CaptureRequest) -> Timing:
    frames, rate = request.frames, request.frame_rate
    if frames is not None and frames[0] > frames[1]:
        raise CaptureError(scene, "frames from first to last", f"{frames[0]} to {frames[1]}")
    if not (math.isfinite(rate) and rate > 0):
        raise CaptureError(scene, "a frame rate above 0", f"{rate:g}")
    return Timing(rate, float(frames[0]) if frames else 0.0)


def _span(asset: Asset, frames: tuple[int, int] | None, timing: Timing) -> tuple[float, float] | None:
    if frames is not None:
        return float(frames[0]), float(frames[1])
    last = last_second(asset)
    return None if last is None else (0.0, float(math.ceil(timing.frame(max(last, 0.0)))))


def _carriers(asset: Asset, nodes: Nodes, lights: int) -> dict[int, int]:
    """The nodes that carry a light, each with its number."""
    return {
        node: number
        for node in nodes.shown
        if (number := light_of(asset, nodes.nodes[node], f"nodes[{node}]", lights)) is not None
    }


def _name_around(light: Mapping[str, Any]) -> str:
    name = light.get("name")
    return as_name(name) if isinstance(name, str) and name else ENVIRONMENT


def _source(scene: Path, asset: Asset, timing: Timing, missing: bool) -> dict[str, Any]:
    return {
        "scene": scene.as_posix(),
        **used_files(scene, asset.used),
        **({"missing_files": True} if missing else {}),
        "frames_per_second": timing.rate,
        "frame_of_second_0": timing.first,
    }


def _chosen(scene: Path, nodes: Nodes, carriers: Sequence[int], asked: Sequence[str]) -> list[int]:
    if not asked:
        return list(carriers)
    chosen: set[int] = set()
    for one in asked:
        matching = {
            node
            for node in carriers
            if _is_called(nodes.paths[node], one) or nodes.paths[node].startswith(one.rstrip("/") + "/")
        }
        if not matching:
            near = nearest_name(one, _called(nodes, carriers))
            raise CaptureError(scene, "a light, or a group of lights", f"none at {one}", nearest=near)
        chosen |= matching
    return [node for node in carriers if node in chosen]


def _is_called(path: str, name: str) -> bool:
    return name in (path, path.rpartition("/")[2])


def _called(nodes: Nodes, some: Sequence[int]) -> list[str]:
    paths = [nodes.paths[node] for node in some]
    return [*paths, *(path.rpartition("/")[2] for path in paths)]


def _camera(scene: Path, nodes: Nodes, asked: str | None, remarks: Remarks) -> int | None:
    found = cameras_of(nodes)
    if asked is not None:
        for node in found:
            if _is_called(nodes.paths[node], asked):
                return node
        near = nearest_name(asked, _called(nodes, found))
        raise CaptureError(scene, "a camera", f"none at {asked}", nearest=near)
    if len(found) > 1:
        others = ", ".join(nodes.paths[node] for node in found[1:4])
        remarks.note(
            f"Of {len(found)} cameras the sheet takes the first, {nodes.paths[found[0]]}; others are {others}."
        )
    return found[0] if found else None


def _marked(scene: Path, nodes: Nodes, asked: Sequence[str]) -> dict[str, int]:
    """Nodes asked for, and those whose `extras` say of themselves that they are marks, by true or by a name."""
    marked: dict[str, int] = {}
    for node in nodes.shown:
        extras = nodes.nodes[node].get("extras")
        said = extras.get(MARK) if isinstance(extras, dict) else None
        if said is True or (isinstance(said, str) and said):
            marked[as_name(said if isinstance(said, str) else nodes.paths[node].rpartition("/")[2])] = node
    for one in asked:
        found = [node for node in nodes.shown if _is_called(nodes.paths[node], one)]
        if not found:
            near = nearest_name(one, _called(nodes, nodes.shown[:1000]))
            raise CaptureError(scene, "a node to mark", f"none at {one}", nearest=near)
        if found[0] not in marked.values():
            marked[as_name(nodes.paths[found[0]].rpartition("/")[2])] = found[0]
    return marked


def _mark(space: NodeSpace, node: int) -> dict[str, Any]:
    track = space.track(node)
    normal = track.over_time(faces_to, circle=True)
    return {"position": track.over_time(stands_at), **({} if normal is None else {"normal": normal})}

"""Cameras of a glTF scene."""

from __future__ import annotations

import math
from typing import Any

from samelight.sources.gltf.nodes import Nodes
from samelight.sources.gltf.space import NodeSpace, lies_along, shines_to, stands_at
from samelight.sources.numbers import tidy
from samelight.sources.rolls import Rolled


def cameras_of(nodes: Nodes) -> list[int]:
    """The nodes that carry a camera, in the order of the scene."""
    cameras = nodes.asset.objects(nodes.asset.data, "cameras")
    return [
        node
        for node in nodes.shown
        if nodes.asset.index(nodes.nodes[node], "camera", f"nodes[{node}]", len(cameras)) is not None
    ]


def capture_camera(space: NodeSpace, node: int) -> dict[str, Any]:
    """Position, aim, whether it moves, and the field of view of a perspective camera.

    `fov` is horizontal, as everywhere in a sheet; glTF gives the vertical one, which is all there is without an
    aspect ratio.
    """
    asset = space.nodes.asset
    track = space.track(node)
    pose = track.over_time(lambda world: [tidy(float(number)) for number in world[:, :3].ravel()])
    camera = {
        "position": track.over_time(stands_at),
        "direction": track.over_time(shines_to, circle=True),
        "roll": track.over_time(Rolled(shines_to, lies_along)),
        "moves": isinstance(pose, dict),
    }
    cameras = asset.objects(asset.data, "cameras")
    number = asset.index(space.nodes.nodes[node], "camera", f"nodes[{node}]", len(cameras))
    if number is not None and cameras[number].get("type") == "perspective":
        at = f"cameras[{number}]"
        lens = asset.object(cameras[number], "perspective", at)
        stated = [
            (f"/cameras/{number}/perspective/{name}", (asset.number(lens, name, f"{at}.perspective", 0.0),))
            for name in ("yfov", "aspectRatio")
        ]
        camera["vertical_fov"] = space.values(stated[:1], lambda values: _degrees(values[0][0]))
        if "aspectRatio" in lens:
            camera["fov"] = space.values(
                stated, lambda values: _degrees(2 * math.atan(math.tan(values[0][0] / 2) * values[1][0]))
            )
    return {name: value for name, value in camera.items() if value is not None}


def _degrees(radians: float) -> float:
    return round(math.degrees(radians), 5)

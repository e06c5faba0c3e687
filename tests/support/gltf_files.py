"""glTF files written by the tests: small scenes, their buffers, and the binary container."""

from __future__ import annotations

import base64
import json
import struct
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

Data = dict[str, Any]

PUNCTUAL = "KHR_lights_punctual"


def carried(light: int = 0, **node: Any) -> Data:
    """A node that carries a light."""
    return {**node, "extensions": {PUNCTUAL: {"light": light}, **node.get("extensions", {})}}


def scene_of(
    nodes: Sequence[Any], lights: Sequence[Any] = (), roots: Sequence[int] | None = None, **rest: Any
) -> Data:
    """The JSON of a scene; every node that nobody has as a child is at its top unless `roots` are given."""
    if roots is None:
        children = {child for node in nodes for child in node.get("children", [])}
        roots = [number for number in range(len(nodes)) if number not in children]
    data: Data = {
        "asset": {"version": "2.0"},
        "scene": 0,
        "scenes": [{"nodes": roots}],
        "nodes": nodes,
        "extensionsUsed": [PUNCTUAL],
        **rest,
    }
    if lights:
        data["extensions"] = {PUNCTUAL: {"lights": list(lights)}, **rest.get("extensions", {})}
    return data


class Animated:
    """Gathers channels and their numbers, and puts them into the JSON of a scene as one buffer."""

    def __init__(self) -> None:
        self.raw = b""
        self.accessors: list[Data] = []
        self.views: list[Data] = []
        self.samplers: list[Data] = []
        self.channels: list[Data] = []

    def move(
        self,
        target: str | tuple[int, str],
        seconds: ArrayLike,
        values: ArrayLike,
        interpolation: str = "LINEAR",
    ) -> Animated:
        """Add a channel; `target` is (node, path) or a JSON pointer."""
        if isinstance(target, str):
            named: Data = {"path": "pointer", "extensions": {"KHR_animation_pointer": {"pointer": target}}}
        else:
            named = {"node": target[0], "path": target[1]}
        sampler = {"input": self._add(seconds, times=True), "output": self._add(values)}
        self.samplers.append({**sampler, "interpolation": interpolation})
        self.channels.append({"sampler": len(self.samplers) - 1, "target": named})
        return self

    def _add(self, numbers: ArrayLike, *, times: bool = False) -> int:
        array = np.atleast_1d(np.asarray(numbers, dtype="<f4"))
        kind = "SCALAR" if array.ndim == 1 else f"VEC{array.shape[1]}"
        view = {"buffer": 0, "byteOffset": len(self.raw), "byteLength": array.nbytes}
        accessor: Data = {
            "bufferView": len(self.views),
            "componentType": 5126,
            "count": len(array),
            "type": kind,
        }
        if times:
            accessor |= {"min": [float(array.min())], "max": [float(array.max())]}
        self.raw += array.tobytes()
        self.views.append(view)
        self.accessors.append(accessor)
        return len(self.accessors) - 1

    def into(self, data: Data, uri: str | None = "inside") -> Data:
        """The scene with the animation; `uri` names the buffer's file, "inside" makes a data URI, None a chunk's."""
        buffer: Data = {"byteLength": len(self.raw)}
        if uri == "inside":
            buffer["uri"] = "data:application/octet-stream;base64," + base64.b64encode(self.raw).decode()
        elif uri is not None:
            buffer["uri"] = uri
        return {
            **data,
            "buffers": [buffer],
            "bufferViews": self.views,
            "accessors": self.accessors,
            "animations": [{"samplers": self.samplers, "channels": self.channels}],
        }


class Meshes:
    """Gathers meshes and other numbers, and puts them into the JSON of a scene as one buffer."""

    def __init__(self) -> None:
        self.raw = b""
        self.accessors: list[Data] = []
        self.views: list[Data] = []
        self.meshes: list[Data] = []

    def mesh(self, points: ArrayLike, corners: ArrayLike | None = None, **primitive: Any) -> int:
        """Add a mesh of one surface; `corners` are indices of its points."""
        attributes = {"POSITION": self.numbers(points), **primitive.pop("attributes", {})}
        indices = {} if corners is None else {"indices": self.numbers(corners, "<u4")}
        self.meshes.append({"primitives": [{"attributes": attributes, **indices, **primitive}]})
        return len(self.meshes) - 1

    def numbers(self, values: ArrayLike, kind: str = "<f4", **accessor: Any) -> int:
        """Add an accessor of rows of numbers, of a kind such as 16-bit ones without a sign, `<u2`."""
        array = np.atleast_1d(np.asarray(values, dtype=kind))
        width = 1 if array.ndim == 1 else array.shape[1]
        self.raw += b"\0" * (-len(self.raw) % 4)
        view = {"buffer": 0, "byteOffset": len(self.raw), "byteLength": array.nbytes}
        self.accessors.append(
            {
                "bufferView": len(self.views),
                "componentType": _CODES[kind],
                "count": len(array),
                "type": "SCALAR" if width == 1 else "MAT4" if width == 16 else f"VEC{width}",
                **accessor,
            }
        )
        self.raw += array.tobytes()
        self.views.append(view)
        return len(self.accessors) - 1

    def into(self, data: Data, uri: str | None = "inside") -> Data:
        """The scene with the meshes; "inside" makes their buffer a data URI, None a chunk's."""
        buffer: Data = {"byteLength": len(self.raw)}
        if uri is not None:
            buffer["uri"] = "data:application/octet-stream;base64," + base64.b64encode(self.raw).decode()
        return {
            **data,
            "buffers": [buffer],
            "bufferViews": self.views,
            "accessors": self.accessors,
            "meshes": self.meshes,
        }


_CODES = {"<i2": 5122, "<u1": 5121, "<u2": 5123, "<u4": 5125, "<f4": 5126}


def glb(data: Data, chunk: bytes = b"", version: int = 2) -> bytes:
    """The bytes of a .glb file."""
    text = json.dumps(data).encode()
    text += b" " * (-len(text) % 4)
    chunk += b"\0" * (-len(chunk) % 4)
    parts = struct.pack("<II", len(text), 0x4E4F534A) + text
    if chunk:
        parts += struct.pack("<II", len(chunk), 0x004E4942) + chunk
    return struct.pack("<4sII", b"glTF", version, 12 + len(parts)) + parts


def walled_with_everything() -> tuple[Meshes, Data]:
    """A mark, a lamp and what stands between them: instances, and a surface that a joint poses."""
    made = Meshes()
    corners = [(-1, -1, 1), (1, -1, 1), (1, 1, 1), (-1, 1, 1)]
    weights = {
        "JOINTS_0": made.numbers([(0, 0, 0, 0)] * 4, "<u1"),
        "WEIGHTS_0": made.numbers([(1, 0, 0, 0)] * 4),
    }
    made.mesh(corners, [0, 1, 2, 0, 2, 3], attributes=weights, material=0)
    places = {"TRANSLATION": made.numbers([(0, 0, 0), (3, 0, 0)])}
    nodes = [
        {"name": "face", "extras": {"samelight:mark": True}},
        carried(0, name="lamp", translation=[0, 0, 4]),
        {"name": "wall", "mesh": 0, "skin": 0},
        {"name": "leaves", "mesh": 0, "extensions": {"EXT_mesh_gpu_instancing": {"attributes": places}}},
    ]
    scene = scene_of(nodes, [{"type": "point"}], materials=[{"alphaMode": "MASK"}])
    scene["skins"] = [{"joints": [1], "inverseBindMatrices": made.numbers([np.eye(4).ravel()])}]
    return made, scene

"""glTF's punctual lights and image-based lights into the lights and environments of a sheet.

KHR_lights_punctual tells a point's and a spot's intensity in candela and a directional light's in lux, for white; colour
multiplies. A spot's `outerConeAngle` becomes `cone` and its `innerConeAngle` stays as `inner_cone`, both half angles in
degrees. `softness` is 1 - inner / outer, so that UsdLux's fade, from cone x (1 - softness) to the cone, begins and ends
where glTF's does. In between the two are not one: UsdLux takes a smoothstep of the angle, glTF's reference code the
square of a straight line between the cosines, which is darker towards the rim.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from samelight.sheets.parameters import of_a_scene
from samelight.sheets.plain_files import is_within
from samelight.sources.gltf.accessors import Array
from samelight.sources.gltf.file import Asset, Json
from samelight.sources.gltf.nodes import transform
from samelight.sources.gltf.space import NodeSpace, shines_to, stands_at
from samelight.sources.numbers import as_typed, tidy
from samelight.sources.provenance import OUTSIDE, digest_of
from samelight.sources.remarks import Remarks

PUNCTUAL, IMAGE_BASED = "KHR_lights_punctual", "EXT_lights_image_based"
_TYPES = {"directional": ("distant", "lx"), "point": ("point", "cd"), "spot": ("spot", "cd")}
_POINTER = f"/extensions/{PUNCTUAL}/lights"

Values = dict[str, Any]


def punctual_lights(asset: Asset) -> Sequence[Json]:
    """The lights that nodes refer to."""
    extension = asset.extension(asset.data, PUNCTUAL, "")
    return asset.objects(extension, "lights", f"extensions.{PUNCTUAL}.") if extension is not None else []


def light_of(asset: Asset, node: Json, at: str, size: int) -> int | None:
    """The number of the light that a node carries."""
    extension = asset.extension(node, PUNCTUAL, at)
    if extension is None:
        return None
    return asset.index(extension, "light", f"{at}.extensions.{PUNCTUAL}", size)


def capture_light(space: NodeSpace, node: int, number: int, stated: Json, remarks: Remarks) -> Values:
    """One light of a sheet, as a node carries it."""
    asset, at = space.nodes.asset, f"extensions.{PUNCTUAL}.lights[{number}]"
    path = space.nodes.paths[node]
    said = stated.get("type")
    if not isinstance(said, str):
        asset.fail(f"{at}.type", "directional, point or spot", "none" if said is None else "no text")
    shape, unit = _TYPES[said] if said in _TYPES else (of_a_scene(said), "relative")
    if said not in _TYPES:
        remarks.about(
            path, f"{said[:40]} is no type of light that {PUNCTUAL} has; it is kept as {shape[:40]}."
        )
    light: Values = {"type": shape}
    track = space.track(node)
    if shape != "distant":
        light["position"] = track.over_time(stands_at)
    if shape != "point":
        direction = track.over_time(shines_to, circle=True)
        if direction is None:
            remarks.about(path, "its transform scales it to nothing, so that it has no direction.")
        else:
            light["direction"] = direction
    light["intensity"] = _one(space, number, stated, "intensity", 1.0, at)
    light["unit"] = unit
    color = (f"{_POINTER}/{number}/color", asset.numbers(stated, "color", at, (1.0, 1.0, 1.0)))
    light["color"] = space.values(
        [color], lambda values: [_not_negative(asset, v, at, "color") for v in values[0]]
    )
    if shape == "spot":
        light.update(_cone(space, number, stated, at, remarks, path))
    if "range" in stated and shape != "distant":
        reach = _one(space, number, stated, "range", 1.0, at)
        if isinstance(reach, float) and reach <= 0:
            remarks.about(path, f"its range is {reach:g}, which is none; it was left out.")
        else:
            light["range"] = reach
    visible = space.visible(node)
    if visible is not True:
        light["visible"] = visible
    return light


def _one(space: NodeSpace, number: int, stated: Json, name: str, fallback: float, at: str) -> Any:
    asset = space.nodes.asset
    still = asset.number(stated, name, at, fallback)
    pointer = f"{_POINTER}/{number}/{name}"
    return space.values([(pointer, (still,))], lambda values: _not_negative(asset, values[0][0], at, name))


def _not_negative(asset: Asset, value: float, at: str, name: str) -> float:
    if value < 0:
        asset.fail(f"{at}.{name}", "0 or more", f"{value:g}")
    return as_typed(value)


def _cone(space: NodeSpace, number: int, stated: Json, at: str, remarks: Remarks, path: str) -> Values:
    asset = space.nodes.asset
    spot = asset.object(stated, "spot", at)
    angles = [
        (f"{_POINTER}/{number}/spot/{name}", (asset.number(spot, name, f"{at}.spot", fallback),))
        for name, fallback in (("innerConeAngle", 0.0), ("outerConeAngle", math.pi / 4.0))
    ]
    (inner,), (outer,) = (still for _, still in angles)
    if not 0 <= inner < outer <= math.pi / 2 + 1e-6:
        remarks.about(
            path,
            f"its cones, {_degrees(inner):g}° inside {_degrees(outer):g}°, are not as {PUNCTUAL} has them.",
        )
    return {
        "cone": space.values(angles[1:], lambda values: _degrees(max(values[0][0], 0.0))),
        "inner_cone": space.values(angles[:1], lambda values: _degrees(max(values[0][0], 0.0))),
        "softness": space.values(angles, lambda values: _softness(values[0][0], values[1][0])),
    }


def _degrees(radians: float) -> float:
    """Degrees without what a 32-bit float of radians adds to them."""
    return round(math.degrees(radians), 5)


def _softness(inner: float, outer: float) -> float:
    """The share of the cone that fades.

    >>> _softness(0.0, 0.5), _softness(0.3, 0.4)
    (1.0, 0.25)
    """
    return round(min(max(1.0 - inner / outer, 0.0), 1.0), 6) if outer > 0 else 0.0


def image_based_light(asset: Asset, scene: tuple[int, Json] | None) -> tuple[int, Json] | None:
    """The image-based light that the scene names; None where it names none."""
    extension = asset.extension(asset.data, IMAGE_BASED, "")
    if scene is None or extension is None:
        return None
    lights = asset.objects(extension, "lights", f"extensions.{IMAGE_BASED}.")
    at = f"scenes[{scene[0]}]"
    use = asset.extension(scene[1], IMAGE_BASED, at)
    number = (
        asset.index(use, "light", f"{at}.extensions.{IMAGE_BASED}", len(lights)) if use is not None else None
    )
    return (number, lights[number]) if number is not None else None


def capture_image_based(asset: Asset, number: int, stated: Json, remarks: Remarks) -> Values:
    """One environment of a sheet: the first image of the sharpest cube as its texture, one hash over all its images.

    The turn is that of the image of +Z; a cube's +Z is not where a latitude-longitude image has its centre, so that
    turns compare between scenes of the same kind.
    """
    at = f"extensions.{IMAGE_BASED}.lights[{number}]"
    environment: Values = {"format": "cube"}
    images = stated.get("specularImages")
    faces = (
        [face for mip in images if isinstance(mip, list) for face in mip] if isinstance(images, list) else []
    )
    texture, digest = _images(asset, faces, at, remarks)
    if texture:
        environment["texture"] = texture
    if digest:
        environment["sha256"] = digest
    environment["intensity"] = asset.number(stated, "intensity", at, 1.0)
    environment["unit"] = "relative"
    matrix = transform((0, 0, 0), asset.numbers(stated, "rotation", at, (0.0, 0.0, 0.0, 1.0)), (1, 1, 1))
    environment.update(_turn(matrix))
    harmonics = stated.get("irradianceCoefficients")
    if isinstance(harmonics, list) and all(isinstance(band, list) for band in harmonics):
        flat = {"irradianceCoefficients": [number for band in harmonics for number in band]}
        environment["irradiance"] = list(asset.numbers(flat, "irradianceCoefficients", at, (0.0,) * 27))
    return environment


def _turn(matrix: Array) -> Values:
    _, y, z = matrix[:3, :3].tolist()
    if max(abs(y[0]), abs(y[1] - 1.0), abs(y[2])) > 1e-6:
        return {"matrix": [tidy(number) for number in np.asarray(matrix).ravel().tolist()]}
    return {"rotation": round(-math.degrees(math.atan2(z[0], z[2])) % 360.0, 6)}


def _images(asset: Asset, faces: Sequence[Any], at: str, remarks: Remarks) -> tuple[str, str]:
    """The name of the first image and one hash over all, empty where they are not to be had."""
    images = asset.objects(asset.data, "images")
    names, whole = "", hashlib.sha256()
    for index, face in enumerate(faces):
        number = asset.index({"image": face}, "image", f"{at}.specularImages", len(images))
        uri = images[number].get("uri") if number is not None else None
        if number is None or not isinstance(uri, str):
            return names, ""
        if uri.startswith("data:"):
            whole.update(asset.decoded(uri, f"images[{number}].uri"))
            continue
        names = names or (uri if index == 0 else "")
        path = asset.beside(uri)
        if path is not None and not is_within(path, *asset.readable):
            remarks.about(f"/{at}", f"its image {uri[:60]} {OUTSIDE}")
            return names, ""
        try:
            if path is None or (digest := digest_of(path)) is None:
                raise FileNotFoundError(uri)
            whole.update(bytes.fromhex(digest))
            asset.used.add(path)
        except FileNotFoundError:
            remarks.about(f"/{at}", f"its image {uri[:60]} could not be read; it is compared by its path.")
            return names, ""
    return names, whole.hexdigest() if faces else ""

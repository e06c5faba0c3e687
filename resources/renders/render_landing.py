"""Renders the frames of the sample `landing` from its sheets: `python resources/renders/render_landing.py`.

Needs Mitsuba 3 (`pip install mitsuba`, the extra `renders`) beside Samelight itself. Each light is rendered alone, in the scalar
variant, which needs no LLVM; so no sampling of several emitters comes in, and the beauty is the sum of the layers. What a shot shows that
its sheet does not say is in `STORY`.
"""

from __future__ import annotations

import sys
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import OpenEXR
import yaml
from numpy.typing import NDArray

ROOT = Path(__file__).resolve().parents[2]
SAMPLE = ROOT / "sample_sequences" / "landing"
SIZE = 160, 68
SAMPLES = 256
FINER = 8
"""Places each way in a pixel at which it is asked what is seen there."""
MANTISSA = 7
"""Bits that are kept of a half's ten: a step is less than a hundredth of a stop, and files are half as large."""
SKIN, OTHER_SKIN = (0.45, 0.4, 0.36), (0.27, 0.24, 0.216)
COAT = 0.06, 0.08, 0.12
HEAD = 0.1
"""Metres."""

Array = NDArray[Any]
Tree = Mapping[str, Any]


@dataclass(frozen=True)
class Shown:
    """What of a frame is not as its sheet says: the version that it was rendered from, what the face is made of, whether the mast
    stands before the lantern; and how bright the lantern burns in single frames, of which no layers are kept."""

    version: int = 0
    skin: tuple[float, float, float] = SKIN
    has_mast: bool = False
    lantern: Mapping[int, float] = field(default_factory=dict)


STORY = {
    "LA_030": Shown(version=1),
    "LA_040": Shown(has_mast=True),
    "LA_050": Shown(skin=OTHER_SKIN),
    "LA_070": Shown(lantern={1001: 1.0, 1013: 1.02, 1025: 0.45, 1037: 0.97, 1048: 1.01}),
}


def main() -> int:
    """Render every shot; the exit status."""
    try:
        import mitsuba
    except ImportError:
        print("Mitsuba is not installed: pip install mitsuba", file=sys.stderr)
        return 2
    mitsuba.set_variant("scalar_rgb")
    for folder in sorted((SAMPLE / "shots").iterdir()):
        shown = STORY.get(folder.name, Shown())
        versions = sorted(folder.iterdir())
        path = versions[shown.version - 1 if shown.version else -1]
        sheet = yaml.safe_load(path.read_text(encoding="utf-8"))
        layers, matte = render(mitsuba, sheet, shown), mattes(mitsuba, sheet, shown)
        for frame, factor in shown.lantern.items():
            burning = {**layers, "lantern": layers["lantern"] * factor}
            name = f"{folder.name}.{frame}"
            write(SAMPLE / "frames" / f"{name}.exr", sheet, {**planes("", summed(burning)), **matte})
        if not shown.lantern:
            channels = planes("", summed(layers)) | matte
            for name, layer in layers.items():
                channels |= planes(f"{name}.", layer)
            write(SAMPLE / "frames" / f"{folder.name}.exr", sheet, channels)
        print(folder.name)
    return 0


def render(mitsuba: Any, sheet: Tree, shown: Shown) -> dict[str, Array]:
    """A picture of each light and sky alone."""
    layers = {}
    for name, light in [*sheet["lights"].items(), *sheet["environments"].items()]:
        scene = mitsuba.load_dict({**solids(sheet, shown), "light": emitter(mitsuba, light)})
        seed = sum(map(ord, sheet["shot"] + name))
        layers[name] = rounded(np.array(mitsuba.render(scene, spp=SAMPLES, seed=seed), dtype=np.float32))
    return layers


def summed(layers: Mapping[str, Array]) -> Array:
    """The beauty."""
    return np.asarray(np.sum(list(layers.values()), axis=0), dtype=np.float32)


def planes(prefix: str, picture: Array) -> dict[str, Array]:
    """The channels of a picture as halves."""
    return {
        f"{prefix}{one}": np.ascontiguousarray(picture[..., at], np.float16) for at, one in enumerate("RGB")
    }


def solids(sheet: Tree, shown: Shown, finer: int = 1) -> dict[str, Any]:
    """The place: quay, wall, the boatman, and the mast where it stands; seen by the sheet's camera."""
    x, y, z = sheet["marks"]["face"]["position"]
    found: dict[str, Any] = {
        "type": "scene",
        "integrator": {"type": "path", "max_depth": 3},
        "sensor": sensor(sheet["camera"], finer),
        "quay": {
            "type": "rectangle",
            "to_world": moved((0, 0, 0), (10, 10, 1), tilt=-90),
            "bsdf": grey(0.12),
        },
        "wall": {"type": "rectangle", "to_world": moved((0, 2, -2.6), (10, 6, 1)), "bsdf": grey(0.18)},
        "bollard": pillar((-1.1, 0.0, -0.6), 1.45, 0.12, grey(0.1)),
        "head": {"type": "sphere", "center": [x, y, z], "radius": HEAD, "bsdf": matt(shown.skin)},
        "cap": pillar((x, y + 0.075, z), 0.05, 0.088, grey(0.06)),
        "coat": pillar((x, y - 1.6, z - 0.04), 1.3, 0.2, matt(COAT)),
        "shoulders": {"type": "sphere", "center": [x, y - 0.3, z - 0.04], "radius": 0.2, "bsdf": matt(COAT)},
    }
    if shown.has_mast:
        found["mast"] = pillar((0.5, 0.0, 0.6), 3.0, 0.06, grey(0.3))
    return found


def pillar(foot: tuple[float, float, float], high: float, radius: float, surface: Tree) -> dict[str, Any]:
    """A round one that stands upright."""
    x, y, z = foot
    return {"type": "cylinder", "p0": [x, y, z], "p1": [x, y + high, z], "radius": radius, "bsdf": surface}


def moved(to: tuple[float, ...], scale: tuple[float, ...], tilt: float = 0.0) -> Any:
    """Scaled, turned about the x axis by degrees, and moved."""
    import mitsuba

    turn = mitsuba.ScalarTransform4f().rotate([1, 0, 0], tilt)
    return (
        mitsuba.ScalarTransform4f().translate(list(to))
        @ turn
        @ mitsuba.ScalarTransform4f().scale(list(scale))
    )


def matt(rgb: tuple[float, float, float]) -> dict[str, Any]:
    """A surface that is alike from all sides, on both of its own."""
    inner = {"type": "diffuse", "reflectance": {"type": "rgb", "value": list(rgb)}}
    return {"type": "twosided", "inner": inner}


def grey(albedo: float) -> dict[str, Any]:
    """A grey one."""
    return matt((albedo, albedo, albedo))


def sensor(camera: Tree, finer: int) -> dict[str, Any]:
    """The sheet's camera: its aperture is as wide as the frame, and stands level."""
    import mitsuba

    place = np.array(camera["position"], dtype=np.float64)
    ahead = place + np.array(camera["direction"], dtype=np.float64)
    width, focal = camera["horizontal_aperture_mm"], camera["focal_length_mm"]
    film = {
        "type": "hdrfilm",
        "width": SIZE[0] * finer,
        "height": SIZE[1] * finer,
        "rfilter": {"type": "box"},
    }
    return {
        "type": "perspective",
        "fov_axis": "x",
        "fov": float(np.degrees(2.0 * np.arctan(width / focal / 2.0))),
        "to_world": mitsuba.ScalarTransform4f().look_at(place.tolist(), ahead.tolist(), [0, 1, 0]),
        "film": {**film, "pixel_format": "rgb", "component_format": "float32"},
        "sampler": {"type": "multijitter"},
    }


def emitter(mitsuba: Any, light: Tree) -> dict[str, Any]:
    """A light of a sheet as UsdLux has it, of the few types that this sample holds."""
    from samelight.light.colour import blackbody_rgb

    rgb = np.array(blackbody_rgb(float(str(light["temperature"]).split()[0])))
    level = float(light["intensity"]) * 2.0 ** float(light.get("exposure", 0.0))

    def of(divisor: float) -> dict[str, Any]:
        return {"type": "rgb", "value": (rgb * level / divisor).tolist()}

    kind = light.get("type", "sky")
    if kind == "distant":
        return {"type": "directional", "direction": list(light["direction"]), "irradiance": of(1.0)}
    if kind == "sphere":
        radius = float(light["radius"])
        area = {"type": "area", "radiance": of(4.0 * np.pi * radius**2)}
        return {"type": "sphere", "center": list(light["position"]), "radius": radius, "emitter": area}
    if kind == "rect":
        width, height = float(light["width"]), float(light["height"])
        to_world = mitsuba.ScalarTransform4f().look_at(
            list(light["position"]), list(light["target"]), [0, 1, 0]
        )
        to_world = to_world @ mitsuba.ScalarTransform4f().scale([width / 2.0, height / 2.0, 1.0])
        return {
            "type": "rectangle",
            "to_world": to_world,
            "emitter": {"type": "area", "radiance": of(width * height)},
        }
    return {"type": "constant", "radiance": of(1.0)}


def rounded(picture: Array) -> Array:
    """To so many bits of mantissa, so that files are small; a sum of a few such is a half again."""
    mantissa, exponent = np.frexp(picture)
    steps = float(2 ** (MANTISSA + 1))
    return np.asarray(np.ldexp(np.rint(mantissa * steps) / steps, exponent), dtype=np.float32)


def mattes(mitsuba: Any, sheet: Tree, shown: Shown) -> dict[str, Array]:
    """An ID matte (Cryptomatte 1.2.0) of the two things that cover most of each pixel."""
    from samelight.sources.pictures.mattes import number_of

    tree = solids(sheet, shown, FINER)
    tree["integrator"] = {"type": "aov", "aovs": "which:shape_index"}
    tree["light"] = {"type": "constant"}
    scene = mitsuba.load_dict(tree)
    names = ["", *(str(shape.id()) for shape in scene.shapes())]  # 0 is nothing
    film = np.array(mitsuba.render(scene, spp=1, seed=0))
    which = np.rint(film[..., 0]).astype(np.int64).reshape(SIZE[1], FINER, SIZE[0], FINER)
    shares = np.stack([(which == at).mean(axis=(1, 3)) for at in range(len(names))], axis=-1)
    numbers = np.array([number_of(name) if name else 0 for name in names], dtype=np.uint32).view(np.float32)
    order = np.argsort(-shares, axis=-1, kind="stable")[..., :2]
    most = np.take_along_axis(shares, order, axis=-1).astype(np.float32)
    seen = np.where(most > 0.0, numbers[order], np.float32(0.0))
    planes = seen[..., 0], most[..., 0], seen[..., 1], most[..., 1]
    return {f"things00.{one}": np.ascontiguousarray(of) for one, of in zip("RGBA", planes, strict=True)}


def write(path: Path, sheet: Tree, channels: Mapping[str, Array]) -> None:
    """An EXR that says which version of its sheet it shows."""
    header = {
        "compression": OpenEXR.ZIP_COMPRESSION,
        "type": OpenEXR.scanlineimage,
        "samelight:version": int(sheet["version"]),
        "cryptomatte/0a11d19/name": "things",
        "cryptomatte/0a11d19/hash": "MurmurHash3_32",
        "cryptomatte/0a11d19/conversion": "uint32_to_float32",
    }
    OpenEXR.File(header, dict(channels)).write(str(path))


if __name__ == "__main__":
    raise SystemExit(main())

"""Plants of one value: what was typed or read wrongly. Each changes shots of a world and notes what it did."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from findings.planted.worlds import Making, Tree, World

AP1_TO_709 = ((1.705, -0.6217, -0.0833), (-0.1303, 1.1408, -0.0105), (-0.024, -0.129, 1.153))
"""From memory, four digits; what a sheet shows that holds scene colours by the wrong primaries is about this far off."""


def _on_light(
    world: World, kinds: Sequence[str], need: str = "", fits: Callable[[int], bool] = lambda kelvin: True
) -> tuple[str, list[str], list[Tree]]:
    """A light of these types that has the parameter and a temperature that fits, shots of it, and its group in each."""
    for name in world.lights(*kinds):
        light = world.master["lights"][name]
        if (not need or need in light) and fits(int(str(light.get("temperature", "0")).split()[0])):
            shots = world.pick(f"lights.{name}")
            return name, shots, [world.shots[shot]["lights"][name] for shot in shots]
    return "", [], []


LIT = ("spot", "rect", "disk", "sphere")


def exposure_sign(world: World) -> bool:
    name, shots, groups = _on_light(world, LIT)
    for group in groups:
        group["exposure"] = -group["exposure"]
    return world.said("exposure-sign", shots, (f"lights.{name}.level",), "exposure")


def exposure_lost(world: World) -> bool:
    name, shots, groups = _on_light(world, LIT)
    for group in groups:
        del group["exposure"]
    return world.said("exposure-lost", shots, (f"lights.{name}.level",), "exposure")


def normalize_flipped(world: World) -> bool:
    name, shots, groups = _on_light(world, ("rect", "disk", "sphere"))
    for group in groups:
        group["normalize"] = False
    return world.said("normalize-flipped", shots, (f"lights.{name}.level",), "normal")


def temperature_off(world: World) -> bool:
    name, shots, groups = _on_light(world, ("distant", *LIT), "temperature")
    for group in groups:
        del group["temperature"]
    return world.said("temperature-off", shots, (f"lights.{name}.colour",), "temperature")


def mired_as_kelvin(world: World) -> bool:
    # Below 500 K a sheet is at fault, and no cause is looked for.
    name, shots, groups = _on_light(world, ("distant", *LIT), "temperature", lambda kelvin: kelvin < 1990)
    for group in groups:
        group["temperature"] = f"{round(1e6 / int(group['temperature'].split()[0]))} K"
    return world.said("mired-as-kelvin", shots, (f"lights.{name}.colour",), "mired")


def nought_dropped(world: World) -> bool:
    name, shots, groups = _on_light(world, ("distant", *LIT), "temperature", lambda kelvin: kelvin >= 5000)
    for group in groups:
        group["temperature"] = f"{int(group['temperature'].split()[0]) // 10} K"
    return world.said(
        "nought-dropped",
        shots,
        (f"lights.{name}.colour",),
        "nought",
        "ten times",
        "factor of 10",
        "×10",
        "/10",
        "tenth",
    )


def cone_full_for_half(world: World) -> bool:
    name, shots, groups = _on_light(world, ("spot",))
    factor = world.dice.choice((2, 0.5))
    for group in groups:
        group["cone"] *= factor
    return world.said("cone-full-half", shots, (f"lights.{name}.cone",), "full", "half")


def radius_as_diameter(world: World) -> bool:
    name, shots, groups = _on_light(world, ("disk", "sphere"))
    factor = world.dice.choice((2, 0.5))
    for group in groups:
        group["radius"] = round(group["radius"] * factor, 4)
    return world.said("radius-diameter", shots, (f"lights.{name}.radius",), "diameter")


def sides_exchanged(world: World) -> bool:
    name, shots, groups = _on_light(world, ("rect",))
    for group in groups:
        group["width"], group["height"] = group["height"], group["width"]
    return world.said("sides-exchanged", shots, (f"lights.{name}.width",), "exchanged", "swapped")


def photometric(world: World) -> bool:
    name, shots, groups = _on_light(world, LIT)
    factor = world.dice.choice((math.pi, 1 / math.pi, 4 * math.pi, 1 / (4 * math.pi), 683, 1 / 683))
    for group in groups:
        group["intensity"] = float(f"{group['intensity'] * factor:.6g}")
    return world.said("photometric", shots, (f"lights.{name}.level",), "π", "pi", "683", "lumen", "candela")


def unit_slip(world: World) -> bool:
    shots = world.pick("render.gi")
    for shot in shots:
        world.shots[shot]["render"]["gi"]["range"] = "3.5 cm"
    return world.said("unit-slip", shots, ("render.gi.range",), "cm", "centi")


def size_in_centimetres(world: World) -> bool:
    name, shots, groups = _on_light(world, ("disk", "sphere"))
    for group in groups:
        group["radius"] = group["radius"] * 100
    return world.said("size-in-cm", shots, (f"lights.{name}.radius",), "cm", "centi")


def colour_primaries(world: World) -> bool:
    return _colour(
        world,
        "colour-primaries",
        lambda rgb: [max(0.0, sum(a * b for a, b in zip(row, rgb, strict=True))) for row in AP1_TO_709],
        "ap1", "acescg", "primaries",
    )  # fmt: skip


def colour_gamma(world: World) -> bool:
    power = world.dice.choice((1.8, 2.2, 2.4))
    power = world.dice.choice((power, 1 / power))
    return _colour(
        world,
        "colour-gamma",
        lambda rgb: [value**power for value in rgb],
        "gamma",
        "1.8",
        "2.2",
        "2.4",
        "srgb",
    )


def red_and_blue(world: World) -> bool:
    return _colour(world, "red-and-blue", lambda rgb: rgb[::-1], "red and blue")


def colour_to_255(world: World) -> bool:
    return _colour(world, "colour-255", lambda rgb: [round(value * 255) for value in rgb], "255")


def _colour(world: World, kind: str, change, *words: str) -> bool:  # type: ignore[no-untyped-def]
    name, shots, groups = _on_light(world, ("rect",), "color")
    for group in groups:
        group["color"] = [round(value, 4) for value in change(group["color"])]
    return world.said(kind, shots, (f"lights.{name}.colour", f"lights.{name}.level"), *words)


def sky_turned(world: World) -> bool:
    shots = world.pick("environments.sky")
    by = world.dice.choice((90, -90, 180))
    for shot in shots:
        sky = world.shots[shot]["environments"]["sky"]
        sky["rotation"] = (sky["rotation"] + by) % 360
    return world.said(
        "sky-turned", shots, ("environments.sky.rotation",), "90°", "180°", "quarter", "half a turn"
    )


def sky_mirrored(world: World) -> bool:
    shots = world.pick("environments.sky")
    for shot in shots:
        sky = world.shots[shot]["environments"]["sky"]
        sky["rotation"] = -sky["rotation"]
    return world.said("sky-mirrored", shots, ("environments.sky.rotation",), "mirror", "sign")


def sun_in_radians(world: World) -> bool:
    name, shots, groups = _on_light(world, ("distant",))
    for group in groups:
        group["azimuth"] = round(math.radians(group["azimuth"]), 4)
        group["elevation"] = round(math.radians(group["elevation"]), 4)
    return world.said("sun-radians", shots, (f"lights.{name}.direction",), "radian")


def sun_zenith(world: World) -> bool:
    name, shots, groups = _on_light(world, ("distant",))
    for group in groups:
        group["elevation"] = 90 - group["elevation"]
    return world.said("sun-zenith", shots, (f"lights.{name}.direction",), "zenith")


def axes_exchanged(world: World) -> bool:
    name, shots, groups = _on_light(world, LIT)
    for group in groups:
        x, y, z = group["position"]
        group["position"] = [x, -z, y]
    return world.said(
        "axes-exchanged", shots, (f"lights.{name}.position",), "z-up", "z up", "axis", "axes", " up"
    )


def gi_off(world: World) -> bool:
    shots = world.pick("render.gi")
    for shot in shots:
        world.shots[shot]["render"]["gi"]["on"] = False
    return world.said("gi-off", shots, ("render.gi.on",), "gi is off")


SLIPS: tuple[Making, ...] = (
    exposure_sign,
    exposure_lost,
    normalize_flipped,
    temperature_off,
    mired_as_kelvin,
    nought_dropped,
    cone_full_for_half,
    radius_as_diameter,
    sides_exchanged,
    photometric,
    unit_slip,
    size_in_centimetres,
    colour_primaries,
    colour_gamma,
    red_and_blue,
    colour_to_255,
    sky_turned,
    sky_mirrored,
    sun_in_radians,
    sun_zenith,
    axes_exchanged,
    gi_off,
)

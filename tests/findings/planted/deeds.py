"""Plants of several values at once: what somebody did to a light, a rig, a sheet or a run of shots."""

from __future__ import annotations

import copy
import math
from itertools import pairwise

from findings.planted.worlds import Making, Tree, World

LIT = ("spot", "rect", "disk", "sphere")


def unsound_copies(world: World) -> bool:
    shots = world.pick("environments.sky", most=2)
    share = world.dice.choice((0.25, 0.5, 1.6, 2.4))
    for shot in shots:
        sky = world.shots[shot]["environments"]["sky"]
        second = copy.deepcopy(sky)
        sky["seen_by"], second["seen_by"] = ["camera", "reflection"], ["indirect"]
        second["intensity"] = round(sky["intensity"] * share, 3)
        world.shots[shot]["environments"]["sky_gi"] = second
    return world.said("unsound-copies", shots, ("environments.sky_gi", "environments.sky"), "indirect")


def duplicated(world: World) -> bool:
    name = world.lights(*LIT)[0]
    shots = world.pick(f"lights.{name}")
    for shot in shots:
        lights = world.shots[shot]["lights"]
        lights[f"{name}1"] = copy.deepcopy(lights[name])
    return world.said("duplicated", shots, (f"lights.{name}1",), "twice", "duplicate", "doubled")


def other_type(world: World) -> bool:
    name = world.lights("rect", "sphere", "disk")[0]
    shots = world.pick(f"lights.{name}")
    for shot in shots:
        light = world.shots[shot]["lights"][name]
        match light["type"]:
            case "sphere":
                light["type"], light["intensity"] = "point", light["intensity"] / 4
                del light["radius"], light["normalize"]
            case "rect":
                light["type"], light["radius"] = (
                    "disk",
                    math.sqrt(light.pop("width") * light.pop("height") / math.pi),
                )
            case _:
                side = light.pop("radius") * math.sqrt(math.pi)
                light["type"], light["width"], light["height"] = "rect", side, side
    return world.said("other-type", shots, (f"lights.{name}",), "point", "disk", "rect", "type")


def names_exchanged(world: World) -> bool:
    pair = _alike(world)
    shots = world.pick(*(f"lights.{name}" for name in pair), most=2) if pair else []
    for shot in shots:
        lights = world.shots[shot]["lights"]
        lights[pair[0]], lights[pair[1]] = lights[pair[1]], lights[pair[0]]
    return world.said(
        "names-exchanged", shots, tuple(f"lights.{name}" for name in pair), "exchanged", "swapped"
    )


def values_exchanged(world: World) -> bool:
    pair = _alike(world)
    shots = world.pick(*(f"lights.{name}" for name in pair), most=2) if pair else []
    for shot in shots:
        one, other = (world.shots[shot]["lights"][name] for name in pair)
        one["intensity"], other["intensity"] = other["intensity"], one["intensity"]
    return world.said(
        "values-exchanged", shots, tuple(f"lights.{name}.level" for name in pair), "exchanged", "swapped"
    )


def _alike(world: World) -> list[str]:
    """Two lights of one type whose strengths are well apart."""
    lights = world.master["lights"]
    for kind in ("sphere", "rect"):
        names = world.lights(kind)
        for one, other in pairwise(names):
            if abs(math.log2(lights[one]["intensity"] / lights[other]["intensity"])) > 0.3:
                return [one, other]
    return []


def lacks_approved(world: World) -> bool:
    name = world.lights("rect", "spot", "disk")[0]
    shots = world.run(6, f"lights.{name}")
    if not shots:
        return False
    left = shots[world.dice.randint(2, 3)]
    strength = round(world.master["lights"][name]["intensity"] * 0.6, 3)
    for shot in shots:
        if shot != left:
            world.shots[shot]["lights"][name]["intensity"] = strength
            world.approved.append((shot, f"lights.{name}.level"))
    return world.said("lacks-approved", [left], (f"lights.{name}.level",), "approved", "intended")


def old_master(world: World) -> bool:
    shots = world.pick("*", most=2)
    for shot in shots:
        _carry(world, shot, 2, 1.0)
    return world.said("old-master", shots, ("lights", "environments"), "master 2", "v2", "v002")


def half_adopted(world: World) -> bool:
    shots = world.pick("*", most=1)
    names_it = world.dice.random() < 0.5
    for shot in shots:
        _carry(world, shot, 2, world.dice.choice((0.3, 0.5, 0.6)))
        world.shots[shot]["master"] = 2 if names_it else 3
    kind = "half-adopted" if names_it else "half-adopted-unsaid"
    return world.said(kind, shots, ("lights", "environments"), "master 2", "v2", "v002")


def _carry(world: World, shot: str, version: int, share: float) -> None:
    """Set a share of the values in which two masters differ back to those of the older one; never fewer than two."""
    older, sheet = world.masters[version], world.shots[shot]
    unlike = [
        (section, group, key)
        for section in ("lights", "environments")
        for group, values in older[section].items()
        for key, value in values.items()
        if value != world.master[section][group].get(key)
    ]
    for section, group, key in world.dice.sample(unlike, max(2, round(share * len(unlike)))):
        sheet[section][group][key] = copy.deepcopy(older[section][group][key])
    if share == 1.0:
        sheet["master"] = version


def never_remade(world: World) -> bool:
    shots = world.pick("render.gi", "render.volume", "render.sampling", most=4)
    for shot in shots:
        world.shots[shot]["render"] = {
            "gi": {"on": True, "range": "1 m", "bounces": 1, "samples": 16},
            "volume": {"samples": 8, "step": "1 m"},
            "sampling": {"samples_per_pixel": 16, "threshold": 0.05},
        }
    return world.said("never-remade", shots, ("render",), "re-made", "default")


def rig_level(world: World) -> bool:
    shots = world.pick("*", most=2)
    factor = world.dice.choice((0.5, 0.7, 1.4, 2.0))
    for shot in shots:
        for light in world.shots[shot]["lights"].values():
            light["intensity"] = round(light["intensity"] * factor, 4)
        sky = world.shots[shot]["environments"]["sky"]
        sky["intensity"] = round(sky["intensity"] * factor, 4)
    return world.said(
        "rig-level", shots, ("lights", "environments"), "all lights", "whole rig", "every light", "everything"
    )


def moved_together(world: World) -> bool:
    shots = world.pick("*", most=1)
    angle = math.radians(world.dice.choice((20, 35, -50, 90)))
    shift = [world.dice.choice((0.0, 4.0, -7.5)) for _ in range(3)]
    for shot in shots:
        sheet = world.shots[shot]
        for place in (*sheet["lights"].values(), sheet["camera"], *sheet["marks"].values()):
            for key in ("position", "target"):
                if key in place:
                    turned = _turned(place[key], angle)
                    place[key] = [round(a + b, 6) for a, b in zip(turned, shift, strict=True)]
            for key in ("direction", "normal"):
                if key in place:
                    place[key] = [round(value, 6) for value in _turned(place[key], angle)]
            if "azimuth" in place:
                place["azimuth"] = (place["azimuth"] + math.degrees(angle)) % 360
        sheet["environments"]["sky"]["rotation"] = (
            sheet["environments"]["sky"]["rotation"] + math.degrees(angle)
        ) % 360
    return world.said(
        "moved-together", shots, ("lights",), "together", "as one", "same picture", "picture is the same"
    )


def _turned(at: list[float], angle: float) -> list[float]:
    """Turned about the vertical so that an azimuth grows by the angle: clockwise from above, with north at -Z."""
    x, y, z = at
    return [x * math.cos(angle) - z * math.sin(angle), y, x * math.sin(angle) + z * math.cos(angle)]


def namespace(world: World) -> bool:
    shots = world.pick("*", most=3)
    prefix = world.dice.choice(("set_", "lgt:", "W_"))
    for shot in shots:
        sheet = world.shots[shot]
        for section in ("lights", "environments"):
            sheet[section] = {prefix + name: group for name, group in sheet[section].items()}
    return world.said("namespace", shots, ("lights", "environments"), f"“{prefix}”", prefix)


def repath(world: World) -> bool:
    shots = world.pick("links", *(f"lights.{name}" for name in world.master["lights"]), most=3)
    for shot in shots:
        for group in (*world.shots[shot]["lights"].values(), *world.shots[shot]["surfaces"].values()):
            if "light_links" in group:
                group["light_links"] = [link.replace("/set/", "/stage/set/") for link in group["light_links"]]
    return world.said("repath", shots, ("lights", "surfaces"), "/stage/set")


def goes_with_mark(world: World) -> bool:
    name = world.lights("spot", "disk")[0]
    shots = world.pick(f"lights.{name}", "marks", most=2)
    for shot in shots:
        sheet, way = world.shots[shot], [world.dice.choice((1.7, -2.2)), 0.0, world.dice.choice((0.9, -1.4))]
        key = world.shots[next(iter(world.shots))]["marks"]["face"]
        sheet["marks"]["face"] = {
            "position": [round(a + b, 3) for a, b in zip(key["position"], way, strict=True)],
            "normal": key["normal"],
        }
        for part in ("position", "target"):
            light = sheet["lights"][name]
            light[part] = [round(a + b, 3) for a, b in zip(light[part], way, strict=True)]
    return world.said(
        "goes-with-mark", shots, (f"lights.{name}",), "goes with", "moves with", "went with", "follow"
    )


def one_lighter(world: World) -> bool:
    who = world.dice.choice(("anna", "bela", "chen"))
    name = world.lights("rect", "disk")[0]
    shots = [shot for shot, sheet in world.shots.items() if sheet["published"]["by"] == who]
    if set(shots) - set(world.free(f"lights.{name}")):
        return False
    world.taken |= {(shot, f"lights.{name}") for shot in shots}
    for shot in shots:
        light = world.shots[shot]["lights"][name]
        light["intensity"] = round(light["intensity"] * world.dice.uniform(0.6, 0.75), 3)
    return world.said("one-lighter", shots, (f"lights.{name}.level",), who)


def eight_added(world: World) -> bool:
    shots = world.pick("added", most=1)
    for shot in shots:
        for number in range(8):
            world.shots[shot]["lights"][f"string_{number}"] = {
                "type": "sphere",
                "position": [round(-2 + 0.5 * number, 2), 2.7, -2.0],
                "radius": 0.02,
                "intensity": round(world.dice.uniform(0.1, 0.4), 3),
                "normalize": True,
            }
    return world.said(
        "eight-added", shots, ("lights.string_0", "lights.string_7"), "8 lights", "eight lights", "8 extra"
    )


def slow_drift(world: World) -> bool:
    what = world.dice.choice(("direction", "level", "colour", "position", "rotation", "width", "cone"))
    types = {
        "direction": ("distant",),
        "width": ("rect",),
        "cone": ("spot",),
        "position": ("spot", "disk"),
        "colour": ("disk", "spot"),
    }
    names = world.lights(*types.get(what, LIT))
    if what == "rotation":
        names = ["sky"]
    if not names:
        return False
    name = names[0]
    section = "environments" if what == "rotation" else "lights"
    shots = world.run(9, f"{section}.{name}")
    for step, shot in enumerate(shots):
        group, way = world.shots[shot][section][name], (step - 4) / 4
        match what:
            case "direction":
                group["elevation"] = round(group["elevation"] + 0.45 * way, 4)
            case "level":
                group["intensity"] = round(group["intensity"] * 2 ** (0.09 * way), 5)
            case "colour":
                kelvin = int(group["temperature"].split()[0])
                group["temperature"] = f"{1e6 / (1e6 / kelvin + 6.5 * way):.1f} K"
            case "position":
                group["position"] = [round(group["position"][0] + 0.044 * way, 4), *group["position"][1:]]
            case "rotation":
                group["rotation"] = round(group["rotation"] + 0.45 * way, 3)
            case "width":
                group["width"] = round(group["width"] * (1 + 0.018 * way), 5)
            case "cone":
                group["cone"] = round(group["cone"] + 0.9 * way, 3)
    leaf = "level" if what == "level" else what
    return world.said(
        f"slow-{what}",
        shots,
        (f"{section}.{name}.{leaf}",),
        "slow",
        "drift",
        "bit by bit",
        "step by step",
        "little by little",
    )


def renamed(world: World) -> bool:
    name = world.lights(*LIT)[0]
    shots = world.pick(f"lights.{name}")
    for shot in shots:
        lights: Tree = world.shots[shot]["lights"]
        lights[f"{name}_new"] = lights.pop(name)
    return world.said("renamed", shots, (f"lights.{name}", f"lights.{name}_new"), "renamed", "name")


DEEDS: tuple[Making, ...] = (
    unsound_copies,
    duplicated,
    other_type,
    names_exchanged,
    values_exchanged,
    lacks_approved,
    old_master,
    half_adopted,
    never_remade,
    rig_level,
    moved_together,
    namespace,
    repath,
    goes_with_mark,
    one_lighter,
    eight_added,
    slow_drift,
    renamed,
)

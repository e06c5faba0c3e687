"""Invented sequences before anything goes wrong: a master with its history, shots with marks and cameras of their own, and tweaks that are meant."""

from __future__ import annotations

import copy
import json
import random
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

Tree = dict[str, Any]


@dataclass(frozen=True)
class Plant:
    """One cause: in which shots, on which parameters (or what starts with them), and words of which a sentence has one."""

    kind: str
    shots: tuple[str, ...]
    parameters: tuple[str, ...]
    words: tuple[str, ...]


@dataclass
class World:
    """A sequence as plain trees. `taken` holds what a plant or tweak has touched already, as (shot, group)."""

    dice: random.Random
    masters: dict[int, Tree]
    shots: dict[str, Tree]
    plants: list[Plant] = field(default_factory=list)
    approved: list[tuple[str, str]] = field(default_factory=list)
    taken: set[tuple[str, str]] = field(default_factory=set)
    listed: bool = False
    """Whether the sequence itself says who lights what, beside the sheets."""

    @property
    def master(self) -> Tree:
        return self.masters[max(self.masters)]

    def free(self, *groups: str) -> list[str]:
        """Shots in which none of these groups was touched; a group `*` is all of the shot."""
        return [
            shot
            for shot in self.shots
            if not any((shot, group) in self.taken for group in (*groups, "*"))
            and not ("*" in groups and any(touched == shot for touched, _ in self.taken))
        ]

    def pick(self, *groups: str, most: int = 3) -> list[str]:
        """One to `most` free shots in cut order, now touched in these groups; none where there is no room."""
        free = self.free(*groups)
        if not free:
            return []
        count = min(self.dice.randint(1, most), len(free))
        chosen = sorted(self.dice.sample(free, count), key=list(self.shots).index)
        self.taken |= {(shot, group) for shot in chosen for group in groups}
        return chosen

    def run(self, count: int, *groups: str) -> list[str]:
        """`count` shots in a row that are free, now touched; none where there is no room."""
        names, free = list(self.shots), set(self.free(*groups))
        starts = [at for at in range(len(names) - count + 1) if free.issuperset(names[at : at + count])]
        if not starts:
            return []
        at = self.dice.choice(starts)
        chosen = names[at : at + count]
        self.taken |= {(shot, group) for shot in chosen for group in groups}
        return chosen

    def lights(self, *types: str) -> list[str]:
        """The master's lights of these types, in an order of the dice."""
        names = [name for name, light in self.master["lights"].items() if light["type"] in types]
        return self.dice.sample(names, len(names))

    def said(self, kind: str, shots: list[str], parameters: tuple[str, ...], *words: str) -> bool:
        """Note a plant. Returns whether there was one."""
        if shots:
            self.plants.append(Plant(kind, tuple(shots), parameters, words))
        return bool(shots)

    def _lighters(self) -> dict[str, list[str]]:
        lists: dict[str, list[str]] = {}
        for shot, sheet in self.shots.items():
            lists.setdefault(sheet["published"]["by"], []).append(shot)
        return lists

    def write(self, folder: Path) -> Path:
        """The sequence as files."""
        _write(
            folder / "sequence.yaml",
            {
                "samelight_sequence": 2,
                "title": folder.name,
                "cut": list(self.shots),
                "key_shot": next(iter(self.shots)),
                **({"lighters": self._lighters()} if self.listed else {}),
            },
        )
        for version, tree in self.masters.items():
            _write(folder / f"master/master.v{version:03d}.json", tree)
        for shot, tree in self.shots.items():
            _write(folder / f"shots/{shot}/{shot}.v001.json", tree)
        return folder


Making = Callable[[World], bool]


def world(seed: int, count: int = 14) -> World:
    """A master with two older versions, and shots that hold all of it."""
    dice = random.Random(seed)
    master = dice.choice((_room, _street, _yard))(dice)
    masters = _history(dice, master)
    people = ("anna", "bela", "chen")
    shots: dict[str, Tree] = {}
    for number in range(count):
        shot = f"W{seed % 100:02d}_{10 * (number + 1):03d}"
        tree = copy.deepcopy(
            {key: value for key, value in master.items() if key not in ("version", "published")}
        )
        face = [
            round(dice.uniform(-0.4, 0.4), 3),
            round(dice.uniform(1.2, 1.7), 3),
            round(dice.uniform(-0.3, 0.3), 3),
        ]
        shots[shot] = {
            **tree,
            "shot": shot,
            "version": 1,
            "master": max(masters),
            "frames": [1001, 1001 + dice.randint(30, 140)],
            "published": {"by": people[number % 3]},
            "camera": {
                "position": [round(dice.uniform(-3, 3), 2), 1.6, round(dice.uniform(3, 6), 2)],
                "direction": [round(dice.uniform(-0.3, 0.3), 2), 0, -1],
                "moves": dice.random() < 0.3,
            },
            "marks": {"face": {"position": face, "normal": [round(dice.uniform(-0.3, 0.3), 2), 0, 1]}},
        }
    # Marks are compared with the key shot's, which is the first.
    return World(dice, masters, shots, taken={(next(iter(shots)), "marks")}, listed=seed % 2 == 0)


def tweak(world: World) -> bool:
    """A lone tweak of one light in one shot, as a lighter makes it on purpose: no slip, no family, no cause but taste."""
    light = world.dice.choice(world.lights("spot", "rect", "sphere", "disk"))
    shots = world.pick(f"lights.{light}", most=1)
    if not shots:
        return False
    group, dice = world.shots[shots[0]]["lights"][light], world.dice
    match dice.randrange(6):
        case 0:
            group["intensity"] = round(group["intensity"] * 2 ** dice.choice((-0.41, -0.34, 0.37, 0.52)), 3)
        case 1:
            group["position"] = [round(value + dice.uniform(0.11, 0.3), 3) for value in group["position"]]
        case 2 if "temperature" in group:
            kelvin = int(group["temperature"].split()[0])
            group["temperature"] = (
                f"{round(1e6 / (1e6 / kelvin + dice.choice((-31, -22, 23, 34))) / 10) * 10} K"
            )
        case 3 if "cone" in group:
            group["cone"] = round(group["cone"] + dice.choice((-4.5, 3.5, 5.5)), 1)
        case 4 if "width" in group:
            group["width"] = round(group["width"] * dice.choice((0.85, 1.13, 1.19)), 3)
        case _:
            group["exposure"] = round(group.get("exposure", 0) + dice.choice((-0.31, 0.28, 0.44)), 2)
    return True


def _room(dice: random.Random) -> Tree:
    lights = {
        "key": _spot(dice, [1.3, 2.6, 2.1], 32, 2700),
        "window": _rect(dice, [-2.2, 1.9, 0.6], 5600),
        "practical": _sphere(dice, [0.8, 1.1, -0.9], 1920),
        "kicker": _disk(dice, [-1.1, 2.4, -1.7], 4700),
    }
    return _master(dice, {"sun": _sun(dice), **lights})


def _street(dice: random.Random) -> Tree:
    lights = {
        "moon": _sun(dice),
        "shop": _rect(dice, [2.4, 1.3, -0.4], 3900),
        "car": _spot(dice, [-0.9, 0.8, 4.1], 21, 5100),
    }
    for number in range(4):
        lights[f"lamp_{number}"] = _sphere(
            dice, [round(-3 + 2.1 * number, 2), 3.1, -1.4], 1850 + 330 * number
        )
    return _master(dice, lights)


def _yard(dice: random.Random) -> Tree:
    lights = {
        "sun": _sun(dice),
        "bounce": _rect(dice, [-1.7, 0.5, 1.9], 4800, [0.93, 0.64, 0.37]),
        "card": _rect(dice, [1.9, 1.8, 1.2], 6100, [0.58, 0.74, 0.91]),
        "hut": _spot(dice, [2.6, 2.2, -1.3], 27, 2950),
        "rim": _disk(dice, [0.7, 2.9, -2.2], 5200),
    }
    return _master(dice, lights)


def _master(dice: random.Random, lights: Tree) -> Tree:
    return {
        "samelight": 2,
        "lights": lights,
        "environments": {
            "sky": {
                "texture": "maps/sky_v04.exr",
                "rotation": dice.randrange(20, 80),
                "intensity": round(dice.uniform(0.5, 1.1), 2),
                "seen_by": ["camera", "indirect", "reflection"],
            }
        },
        "render": {
            "gi": {
                "on": True,
                "range": "3.5 m",
                "bounces": dice.choice((3, 5)),
                "samples": dice.choice((160, 192, 320)),
            },
            "volume": {"samples": dice.choice((72, 96)), "step": "0.25 m"},
            "sampling": {"samples_per_pixel": dice.choice((144, 196)), "threshold": 0.01},
        },
        "surfaces": {
            "walls": {"shade_area": 0.4, "reflection_samples": 48, "assigned_to": ["/set/walls"]},
            "glass": {"shade_area": 0.5, "reflection_samples": 96, "assigned_to": ["/set/glass"]},
        },
        "passes": {"background": {"frames": "all"}, "crew": {"frames": "all"}},
    }


def _history(dice: random.Random, newest: Tree) -> dict[int, Tree]:
    """The newest master as version 3, with two before it that differ in half a dozen values."""
    middle, oldest = copy.deepcopy(newest), copy.deepcopy(newest)
    for tree, way in ((middle, 1), (oldest, 2)):
        for name, light in tree["lights"].items():
            light["intensity"] = round(light["intensity"] * (1 - 0.17 * way), 3)
            if "temperature" in light and name not in ("sun", "moon", "rim", "kicker"):
                light["temperature"] = f"{int(light['temperature'].split()[0]) + 340 * way} K"
        tree["environments"]["sky"]["rotation"] += 7 * way
        tree["environments"]["sky"]["intensity"] = round(
            tree["environments"]["sky"]["intensity"] * (1 - 0.11 * way), 3
        )
    return {
        version: {**tree, "version": version} for version, tree in ((1, oldest), (2, middle), (3, newest))
    }


def _sun(dice: random.Random) -> Tree:
    return {
        "type": "distant",
        "azimuth": dice.randrange(100, 160),
        "elevation": dice.randrange(17, 38),
        "intensity": round(dice.uniform(2.2, 4.1), 2),
        "exposure": 0,
        "temperature": f"{dice.randrange(380, 470)}0 K",
        "angle": 0.53,
        "normalize": True,
    }


def _spot(dice: random.Random, at: list[float], cone: float, kelvin: int) -> Tree:
    return {
        "type": "spot",
        "position": at,
        "target": [0, 1.6, 0],
        "intensity": round(dice.uniform(1.7, 3.9), 2),
        "exposure": 1.25,
        "temperature": f"{kelvin} K",
        "cone": cone,
        "softness": 0.2,
        "samples": 24,
        "light_links": ["/set/walls", "/char/lead"],
    }


def _rect(dice: random.Random, at: list[float], kelvin: int, color: list[float] | None = None) -> Tree:
    return {
        "type": "rect",
        "position": at,
        "target": [0, 1.6, 0],
        "width": 1.3,
        "height": 0.6,
        "intensity": round(dice.uniform(1.4, 3.1), 2),
        "exposure": 0.75,
        "normalize": True,
        "samples": 32,
        "light_links": ["/set/walls", "/set/glass", "/char/lead"],
        **({"color": color} if color else {"temperature": f"{kelvin} K"}),
    }


def _disk(dice: random.Random, at: list[float], kelvin: int) -> Tree:
    return {
        "type": "disk",
        "position": at,
        "target": [0, 1.6, 0],
        "radius": 0.35,
        "intensity": round(dice.uniform(1.1, 2.3), 2),
        "exposure": 1.5,
        "temperature": f"{kelvin} K",
        "normalize": True,
        "samples": 24,
        "light_links": ["/char/lead"],
    }


def _sphere(dice: random.Random, at: list[float], kelvin: int) -> Tree:
    return {
        "type": "sphere",
        "position": at,
        "radius": 0.07,
        "intensity": round(dice.uniform(1.2, 2.8), 2),
        "exposure": 0.5,
        "temperature": f"{kelvin} K",
        "normalize": True,
        "samples": 16,
    }


def _write(path: Path, tree: Tree) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(json.dumps(tree), encoding="utf-8")

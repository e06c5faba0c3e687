"""A whole film in memory: sheets as they come out of reading, with a known share of drift and a fixed seed."""

from __future__ import annotations

import copy
import random
from dataclasses import replace
from pathlib import Path
from typing import cast

from samelight.light.directions import from_azimuth_elevation
from samelight.sheets.canonical import Sections
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Colour, FileRef, Group, Level, Value

LIGHTS, SURFACES, PASSES = 30, 25, 8


def film(shots: int = 2000, drift: float = 0.03, seed: int = 20260914) -> tuple[Sheet, dict[str, Sheet]]:
    """A master setup of 565 rows (presence rows among them) and `shots` sheets of it.

    `drift` is the share of all values that differ. No two sheets share an object, as in files read apart, and
    every drifted value is one of its own: the worst case for whatever compares equal values once.
    """
    dice = random.Random(seed)
    master = _master(dice)
    sheets = {}
    for number in range(shots):
        sections = changeable(copy.deepcopy(master))
        for groups in sections.values():
            for group in groups.values():
                for leaf, value in group.items():
                    if dice.random() < drift:
                        group[leaf] = _drifted(value, dice)
        name = f"FM_{10 * (number + 1):05d}"
        sheets[name] = _sheet(name, sections)
    return _sheet("", master), sheets


def changeable(sections: Sections) -> dict[str, dict[str, dict[str, Value]]]:
    """The same object, which nothing but a benchmark changes."""
    return cast("dict[str, dict[str, dict[str, Value]]]", sections)


def _sheet(shot: str, sections: Sections) -> Sheet:
    return Sheet(Path(f"{shot or 'master'}.v001.yaml"), shot, 1, 1, (1001, 1100), {}, sections)


def _master(dice: random.Random) -> Sections:
    lights = {f"light_{number:02d}": _light(number, dice) for number in range(LIGHTS)}
    return {
        "lights": lights,
        "environments": {
            name: {
                "rotation": 40.0,
                "level": Level(0.8),
                "colour": Colour(0.1978, 0.4683),
                "seen_by": frozenset({"camera", "indirect", "reflection"}),
                "texture": FileRef(f"maps/{name}.exr", f"{dice.getrandbits(256):064x}"),
            }
            for name in ("sky", "horizon")
        },
        "render": {
            "gi": {"on": True, "range": 3.5, "bounces": 3.0, "samples": 192.0},
            "volume": {"samples": 96.0},
            "sampling": {"samples_per_pixel": 64.0},
        },
        "surfaces": {
            f"surface_{number:02d}": {
                "shade_area": 0.4,
                "reflection_samples": 48.0,
                "assigned_to": frozenset({f"/set/surface_{number:02d}"}),
            }
            for number in range(SURFACES)
        },
        "passes": {
            f"pass_{number}": {"frames": "all", "hides": frozenset({"crew"})} for number in range(PASSES)
        },
    }


def _light(number: int, dice: random.Random) -> Group:
    return {
        "type": "distant" if number == 0 else "spot",
        "direction": from_azimuth_elevation(dice.uniform(0, 360), dice.uniform(5, 80)),
        "position": (dice.uniform(-5, 5), dice.uniform(0, 4), dice.uniform(-5, 5)),
        "level": Level(dice.uniform(0.1, 8)),
        "colour": Colour(dice.uniform(0.18, 0.26), dice.uniform(0.44, 0.53)),
        "cone": dice.uniform(10, 60),
        "softness": 0.2,
        "radius": 0.04,
        "samples": 32.0,
        "diffuse": Level(1.0),
        "visible": True,
        "seen_by": frozenset({"diffuse", "reflection", "volume"}),
        "light_links": frozenset({"*"}),
    }


def _drifted(value: Value, dice: random.Random) -> Value:
    match value:
        case bool():
            return not value
        case float():
            return value * dice.uniform(0.5, 2)
        case str():
            return f"{value}_{dice.getrandbits(32)}"
        case frozenset():
            return value | {f"/set/{dice.getrandbits(32)}"}
        case tuple() if abs(sum(x * x for x in value) - 1) < 1e-9:
            return from_azimuth_elevation(dice.uniform(0, 360), dice.uniform(5, 80))
        case tuple():
            return tuple(x + dice.uniform(-0.5, 0.5) for x in value)
        case Level():
            return Level(value.value * dice.uniform(0.5, 2), value.quantity)
        case Colour():
            return Colour(value.u + dice.uniform(-0.01, 0.01), value.v + dice.uniform(-0.01, 0.01))
        case FileRef():
            return replace(value, path=f"other/{value.path}", sha256=f"{dice.getrandbits(256):064x}")
        case _:
            raise AssertionError(value)

"""A whole film as a sequence folder: YAML sheets of 14 kB, a known share of drift and a fixed seed."""

from __future__ import annotations

import random
from pathlib import Path
from typing import Any

from samelight.sheets.writing import yaml_text

LIGHTS, SETTINGS = 20, 40
_SETTING_GROUPS = 8


def write_film(folder: Path, shots: int = 2000, drift: float = 0.03, seed: int = 20260914) -> Path:
    """Write a sequence of `shots` shots, each with 20 lights of 25 parameters and 40 render settings."""
    dice = random.Random(seed)
    master = _setup(dice)
    names = [f"FM_{10 * (number + 1):05d}" for number in range(shots)]
    (folder / "master").mkdir(parents=True)
    (folder / "master" / "master.v001.yaml").write_text(
        yaml_text({"samelight": 2, "version": 1, **master}), encoding="utf-8"
    )
    for name in names:
        place = folder / "shots" / name
        place.mkdir(parents=True)
        tree = {"samelight": 2, "shot": name, "version": 1, "master": 1, **_drifted(master, drift, dice)}
        (place / f"{name}.v001.yaml").write_text(yaml_text(tree), encoding="utf-8")
    cut = "\n".join(f"  - {name}" for name in names)
    (folder / "sequence.yaml").write_text(f"title: A film of {shots} shots\ncut:\n{cut}\n", encoding="utf-8")
    return folder


def _setup(dice: random.Random) -> dict[str, Any]:
    lights = {f"light_{number:02d}": _light(number, dice) for number in range(LIGHTS)}
    render: dict[str, dict[str, Any]] = {}
    for number in range(SETTINGS):
        group = render.setdefault(f"group_{number % _SETTING_GROUPS}", {})
        group[f"setting_{number:02d}_samples"] = dice.choice([8, 16, 32, 64, 96, 128])
    render["gi"] = {"on": True, "range": 3.5, "bounces": 3, "samples": 192}
    return {"lights": lights, "render": render}


def _light(number: int, dice: random.Random) -> dict[str, Any]:
    light: dict[str, Any] = {
        "type": "distant" if number == 0 else dice.choice(["rect", "disk", "spot", "sphere"]),
        "azimuth": round(dice.uniform(0, 360), 2),
        "elevation": round(dice.uniform(-60, 60), 2),
        "intensity": round(dice.uniform(0.1, 20), 3),
        "exposure": dice.choice([0, 0.5, 1, 2]),
        "temperature": dice.randrange(2500, 7000, 50),
        "color": [1, round(dice.uniform(0.8, 1), 3), round(dice.uniform(0.7, 1), 3)],
        "normalize": True,
        "samples": dice.choice([16, 32, 64]),
        "seen_by": ["diffuse", "reflection"],
        "light_links": ["/set/quay", "/set/boat"],
        "diffuse": 1.0,
        "specular": round(dice.uniform(0.5, 1), 2),
        "visible": True,
    }
    if number:
        light |= {
            "position": [round(dice.uniform(-9, 9), 3) for _ in range(3)],
            "radius": round(dice.uniform(0.05, 0.8), 3),
            "width": round(dice.uniform(0.2, 3), 2),
            "height": round(dice.uniform(0.2, 3), 2),
            "cone": round(dice.uniform(15, 60), 1),
            "softness": round(dice.uniform(0, 0.5), 2),
        }
    else:
        light |= {"angle": 0.53}
    light["shadow"] = {"enable": True, "color": [0, 0, 0], "distance": -1, "falloff": -1}
    light["decay"] = round(dice.uniform(1, 2), 2)
    return light


def _drifted(tree: Any, drift: float, dice: random.Random) -> Any:
    if isinstance(tree, dict):
        return {
            name: value if name == "type" else _drifted(value, drift, dice) for name, value in tree.items()
        }
    if dice.random() >= drift or isinstance(tree, str | bool):
        return tree
    if isinstance(tree, list):
        return [item * 1.1 if isinstance(item, float) else item for item in tree]
    return tree * 2 if isinstance(tree, int) else round(tree * dice.uniform(0.7, 1.3), 4)

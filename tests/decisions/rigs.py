"""Sequences made at random for the gate: any rig, any shots, any slips, large and small, and what was decided on them.

Nothing is planted to be found again: what must hold is asked of whatever comes out.
"""

from __future__ import annotations

import random
from copy import deepcopy
from pathlib import Path
from typing import Any

from conftest import write_sequence
from samelight.decisions.decision import Verb
from samelight.drift.cells import Grade
from samelight.findings.finding import Case
from samelight.sequence.session import Session, open_session

Tree = dict[str, Any]
Spot = tuple[int, int]

_KINDS = ("distant", "disk", "rect", "sphere", "spot")
_SEES = (["camera", "indirect", "reflection"], ["camera", "reflection"], ["indirect"], ["camera", "shadow"])


def _light(chance: random.Random, kind: str) -> Tree:
    light: Tree = {"type": kind, "intensity": round(chance.uniform(0.5, 4.0), 2), "normalize": True}
    light["temperature"] = chance.choice([3200, 4300, 5600])
    light["samples"] = chance.choice([16, 64])
    if kind == "distant":
        return {
            **light,
            "azimuth": chance.randrange(0, 360),
            "elevation": chance.randrange(10, 70),
            "angle": 0.53,
        }
    light["position"] = [
        round(chance.uniform(-3, 3), 2),
        round(chance.uniform(1.5, 3), 2),
        round(chance.uniform(1, 3), 2),
    ]
    light["target"] = [0, 1.6, 0]
    sizes: dict[str, Tree] = {
        "disk": {"radius": 0.4},
        "rect": {"width": 1.2, "height": 0.9},
        "sphere": {"radius": 0.2},
        "spot": {"cone": 32, "softness": 0.2},
    }
    return {**light, **sizes[kind]}


def a_master(chance: random.Random) -> Tree:
    """Two to five lights, one or two skies, and passes, of which one is a single frame."""
    names = chance.sample(["sun", "key", "rim", "fill", "lamp", "bounce"], chance.randrange(2, 6))
    lights = {name: _light(chance, "distant" if name == "sun" else chance.choice(_KINDS)) for name in names}
    skies = chance.sample(["dawn", "haze"], chance.randrange(1, 3))
    return {
        "lights": lights,
        "environments": {
            name: {
                "texture": f"maps/{name}.exr",
                "rotation": chance.randrange(0, 360),
                "intensity": round(chance.uniform(0.2, 1.0), 2),
                "seen_by": list(chance.choice(_SEES)),
            }
            for name in skies
        },
        "render": {"gi": {"on": True, "range": "4 m", "bounces": 3, "samples": 128}},
        "passes": {"set": {"frames": "held"}, "cast": {"frames": "all"}},
    }


def _slip(chance: random.Random, sheet: Tree) -> None:
    """One change of anything, inside its tolerance or outside."""
    large = chance.random() < 0.6
    lights, skies = sheet["lights"], sheet["environments"]
    if not lights or not skies:
        return
    light, sky = lights[chance.choice(list(lights))], skies[chance.choice(list(skies))]
    match chance.randrange(11):
        case 0 | 1:
            light["intensity"] *= 2 ** (chance.uniform(0.3, 1.5) if large else chance.uniform(0.01, 0.09))
        case 2 if "position" in light:
            light["position"][chance.randrange(3)] += 0.7 if large else 0.02
        case 3 if "azimuth" in light:
            light["azimuth"] += 9 if large else 0.3
        case 4:
            light["temperature"] += 700 if large else 10
        case 5:
            del lights[chance.choice(list(lights))]
        case 6:
            lights[f"extra_{chance.randrange(3)}"] = _light(chance, chance.choice(_KINDS[1:]))
        case 7:
            sky["intensity"] *= 1.5 if large else 1.02
        case 8:
            sky["rotation"] += 8 if large else 0.2
        case 9:
            sky["seen_by"] = list(chance.choice(_SEES))
        case 10:
            sheet["camera"]["moves"] = True
        case _:
            sheet["render"]["gi"]["bounces"] = 1


def a_sequence(chance: random.Random, folder: Path) -> Path:
    """Four to nine shots, of which each has some slips or none, and some of which share one."""
    master = a_master(chance)
    shots: dict[str, Tree] = {}
    for number in range(chance.randrange(4, 10)):
        sheet = deepcopy(master)
        sheet["frames"] = [1001, 1048]
        sheet["camera"] = {"position": [0, 1.6, 5], "direction": [0, 0, -1], "moves": False}
        sheet["marks"] = {"face": {"position": [0, 1.6, 0], "normal": [0, 0, 1]}}
        if chance.random() < 0.5:
            sheet["marks"]["hand"] = {"position": [0.4, 1.1, 0.3]}
        sheet["cost"] = {"test_frame": f"{chance.choice([600, 610, 620, 620, 630, 2400])}s"}
        for _ in range(chance.choice([0, 0, 1, 1, 2, 4])):
            _slip(chance, sheet)
        shots[f"RA_{number + 1:02d}0"] = sheet
    return write_sequence(folder, master=master, shots=shots, policy={"limits": {"lights": 5}})


def all_cases(session: Session, at_least: Grade) -> tuple[list[Spot], list[Case]]:
    """The cells and the findings that one decides on, at or above a level."""
    return [
        (int(row), int(column))
        for row in range(len(session.table.rows))
        for column in range(len(session.table.shots))
        if session.cases.case_mask(at_least)[row, column]
    ], session.cases.finding_cases(at_least=at_least)


def decided_at_random(chance: random.Random, folder: Path) -> Session:
    """The sequence opened, with some of its cases intended, some sent back and some withdrawn again."""
    session = open_session(folder)
    cells, cases = all_cases(session, Grade.WITHIN)
    for cell in cells:
        if (verb := chance.choice([None, Verb.INTEND, Verb.INTEND, Verb.RETURN])) is not None:
            session.decide(verb, [cell], "lead", "meant")
        if verb is not None and chance.random() < 0.2:
            session.decide(Verb.WITHDRAW, [cell], "lead")
    for case in cases:
        if (verb := chance.choice([None, Verb.INTEND, Verb.RETURN])) is not None:
            session.decide(verb, [], "lead", "meant", cases=[case])
    session.refresh_findings()
    return session

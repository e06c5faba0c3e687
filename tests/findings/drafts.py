"""Small sequences in memory: a master setup and shots as plain trees that a test changes, and the evidence they give."""

from __future__ import annotations

import copy
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from hypothesis import settings

from samelight.decisions.decision import Decision, Verb, new_id
from samelight.decisions.state import Judgement, judge
from samelight.drift.computed.derived import derived_rows
from samelight.drift.policy import Policy, default_policy
from samelight.drift.table import ExtraRow, build_table
from samelight.findings.finding import Evidence, Finding
from samelight.findings.registry import Drawn, find_all
from samelight.sheets.errors import Faults
from samelight.sheets.moved import each_moved
from samelight.sheets.sheet import Sheet, sheet_from_document
from samelight.sheets.trees import parse_document
from thoroughness import examples

Tree = dict[str, Any]

DEFAULTS: tuple[tuple[str, Any], ...] = (
    ("render.volume.samples", 8),
    ("render.gi.samples", 16),
    ("render.gi.bounces", 1),
    ("render.gi.range", 0),
    ("render.gi.on", False),
    ("lights.*.samples", 4),
)
LIGHT_LIMIT = 8

FEW = settings(max_examples=examples(40))
"""For properties whose every example is a whole sequence."""

EVERY_RAY = ["camera", "diffuse", "reflection", "volume"]


def master_tree() -> Tree:
    """An invented setup: a sun, five set lights, a sky, render settings, surfaces and passes."""
    return {
        "samelight": 2,
        "version": 3,
        "lights": {
            "sun": {
                "type": "distant",
                "azimuth": 131,
                "elevation": 24,
                "intensity": 3.2,
                "exposure": 0,
                "temperature": "4300 K",
                "angle": 0.53,
                "normalize": True,
                "samples": 64,
                "seen_by": EVERY_RAY,
            },
            "bounce": {
                "type": "rect",
                "position": [-2.1, 0.4, 1.6],
                "direction": [0.79, 0.3, -0.53],
                "width": 4,
                "height": 1.5,
                "intensity": 3,
                "exposure": 0.5,
                "color": [0.92, 0.61, 0.33],
                "normalize": True,
                "samples": 16,
                "light_links": ["/set/boat", "/set/nets", "/char/boatman"],
            },
            "quay_spot": {
                "type": "spot",
                "position": [1.2, 2.4, 2.0],
                "target": [0.3, 1.62, 0.1],
                "intensity": 2.4,
                "temperature": "2700 K",
                "cone": 32,
                "softness": 0.2,
                "radius": "4 cm",
                "samples": 32,
            },
            "window_fill": {
                "type": "rect",
                "position": [-1.2, 1.9, 1.5],
                "direction": [0.72, -0.14, -0.68],
                "width": 1.2,
                "height": 0.9,
                "intensity": 1.1,
                "exposure": 1,
                "color": [0.55, 0.72, 0.94],
                "normalize": True,
                "samples": 32,
                "light_links": ["/set/boat", "/set/nets", "/char/boatman"],
            },
            "rim": {
                "type": "disk",
                "position": [-0.9, 2.6, -1.6],
                "direction": [0.53, -0.43, 0.73],
                "radius": 0.35,
                "intensity": 1.6,
                "temperature": "5000 K",
                "normalize": True,
                "samples": 24,
                "light_links": ["/char/boatman"],
            },
            "lamp": {
                "type": "sphere",
                "position": [0.9, 1.15, 0.6],
                "radius": "3 cm",
                "intensity": 0.3,
                "temperature": "2200 K",
                "normalize": True,
                "samples": 16,
            },
        },
        "environments": {
            "dawn_sky": {
                "texture": "maps/dawn.exr",
                "rotation": 40,
                "intensity": 0.8,
                "seen_by": ["camera", "indirect", "reflection"],
            }
        },
        "render": {
            "gi": {"on": True, "range": "3.5 m", "bounces": 3, "samples": 192},
            "volume": {"samples": 96, "step": "25 cm"},
            "sampling": {"samples_per_pixel": 64, "threshold": 0.01},
        },
        "surfaces": {
            "nets": {"shade_area": 0.4, "reflection_samples": 48, "assigned_to": ["/set/nets"]},
            "water": {"shade_area": 0.5, "reflection_samples": 96, "assigned_to": ["/set/water"]},
        },
        "passes": {
            "background": {"frames": "held", "hides": ["crew"]},
            "crew": {"frames": "all", "hides": ["background"]},
        },
    }


def sample_policy(**limits: float) -> Policy:
    """The program's policy with the defaults of an invented renderer and a limit to the lights."""
    limits = {"lights": LIGHT_LIMIT, **limits}
    return replace(default_policy(), defaults=DEFAULTS, limits=tuple(limits.items()))


@dataclass
class Draft:
    """A sequence being made: change `master`, `older` and `shots` in place, then ask for the findings."""

    master: Tree
    shots: dict[str, Tree]
    older: dict[int, Tree] = field(default_factory=dict)
    policy: Policy = field(default_factory=sample_policy)
    decisions: list[tuple[str, str, Verb, str, bool]] = field(default_factory=list)
    """Shot, parameter, verb, who, and whether the decision was made on the values of now."""
    derived: Sequence[ExtraRow] | None = ()
    """Computed rows; None for those that the program computes."""

    def evidence(self) -> Evidence:
        """What the sequence gives the findings to look at."""
        version = int(self.master["version"])
        master = as_sheet(self.master, "", version)
        masters = {number: as_sheet(tree, "", number) for number, tree in self.older.items()}
        masters[version] = master
        sheets = {shot: as_sheet(tree, shot) for shot, tree in self.shots.items()}
        held = each_moved(master, sheets, self.shots)
        shots, derived = list(self.shots), self.derived
        if derived is None:
            derived = derived_rows(shots, sheets, master, None)
        table = build_table(shots, sheets, held, self.policy, derived)
        evidence = Evidence(table, sheets, master, masters, self.policy, {})
        return replace(evidence, judgements=self._judgements(evidence))

    def drawn(self) -> Drawn:
        """The findings, and what could not be drawn."""
        return find_all(self.evidence())

    def findings(self, name: str | None = None) -> list[Finding]:
        """The findings, or those of one name."""
        return [finding for finding in self.drawn().findings if name in (None, finding.finding)]

    def _judgements(self, evidence: Evidence) -> dict[tuple[int, int], Judgement]:
        made: dict[tuple[int, int], list[Decision]] = {}
        for shot, parameter, verb, who, current in self.decisions:
            row, column = evidence.table.row(parameter), evidence.table.column(shot)
            if row is None or column is None:
                raise LookupError(f"no cell {parameter} in {shot}")
            entry = evidence.table.entry(row, column)
            if entry is None:
                raise LookupError(f"{shot} has no {parameter}")
            now = datetime.now(UTC)
            value = entry.value if current else "as it was before"
            decision = Decision(
                new_id(now), verb, shot, parameter, value, entry.master, "asked for in dailies", who, now
            )
            made.setdefault((row, column), []).append(decision)
        return {
            spot: judge(evidence.table.cell(*spot).value, evidence.table.cell(*spot).master, decisions)
            for spot, decisions in made.items()
        }


def draft(count: int = 8, master: Tree | None = None) -> Draft:
    """A sequence of `count` shots that all equal the master, each with a still camera, a mark and a timed test frame."""
    tree = master_tree() if master is None else master
    return Draft(tree, {f"S_{10 * (number + 1):03d}": shot_of(tree) for number in range(count)})


def shot_of(master: Tree) -> Tree:
    """A sheet that equals the master."""
    tree = copy.deepcopy({key: value for key, value in master.items() if key != "version"})
    tree["master"] = master["version"]
    tree["frames"] = [1001, 1096]
    tree["camera"] = {"position": [4.1, 1.7, 9.0], "direction": [-0.4, -0.05, -0.91], "moves": False}
    tree["marks"] = {"face": {"position": [0.3, 1.62, 0.1], "normal": [0, 0, 1]}}
    tree["cost"] = {"test_frame": 1100, "resolution": [1920, 804]}
    return tree


def as_sheet(tree: Mapping[str, Any], shot: str, version: int = 1) -> Sheet:
    """The sheet that a tree is. Raises `SheetError`, which tells no lines."""
    path = Path(f"{shot or 'master'}.json")
    document = parse_document(path, json.dumps(tree))
    nowhere = replace(document, faults=Faults(path, lambda place: None))
    return sheet_from_document(nowhere, shot=shot or None, version=version)


def pairs(findings: Sequence[Finding]) -> set[tuple[str, str]]:
    """The findings as (name, shot)."""
    return {(finding.finding, shot) for finding in findings for shot in finding.shots}


def only(findings: Sequence[Finding], name: str) -> Finding:
    """The one finding of a name. Fails when there is none, or more."""
    found = [finding for finding in findings if finding.finding == name]
    assert len(found) == 1, f"{len(found)} findings {name}: {[f.says for f in findings]}"
    return found[0]

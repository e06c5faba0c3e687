"""The reference figures for light at a mark, and what the program says in their place.

The figures in tests/data/light_reference were made outside the program, by quasi-Monte-Carlo over the emitting surfaces
(its README says how), and compared with an independent renderer.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from samelight.drift.computed.mark_levels import levels_at
from samelight.drift.computed.rig import Rig, rig_of
from samelight.sheets.sheet import Sheet, sheet_from_document
from samelight.sheets.trees import parse_document

FOLDER = Path(__file__).resolve().parents[1] / "data" / "light_reference"


@dataclass(frozen=True, slots=True)
class Figure:
    """One light at one mark of one set-up, in one of its two states: what the reference says and what the program."""

    setup: str
    kind: str
    mark: str
    light: str
    shaped: bool
    expected: float
    found: float
    share: float
    """Of all light that the reference has at this mark, in the brighter of the two states."""

    @property
    def stops(self) -> float:
        """How far off it is; infinite where the program knows none, 0 where neither has any."""
        if self.expected == self.found or (self.expected <= 0.0 and self.found <= 1e-12):
            return 0.0
        if not (self.found > 0.0 and self.expected > 0.0):
            return math.inf
        return abs(math.log2(self.found) - math.log2(self.expected))


def sheet_of(tree: Mapping[str, Any], shot: str = "") -> Sheet:
    """A sheet of a plain tree, as from a file."""
    text = json.dumps({"samelight": 2, **({"shot": shot} if shot else {}), **tree})
    return sheet_from_document(parse_document(Path("shot.json"), text), shot=shot or None)


def rig_at(sheets: Sequence[Sheet]) -> Rig:
    """The lights of some sheets, each compared with the first."""
    names = [f"S{index}" for index in range(len(sheets))]
    return rig_of(names, sheets, [sheets[0]] * len(sheets), sheets[0])


def sheet_figures() -> Iterator[Figure]:
    """Every light at every mark of the set-ups written as sheets, in both states."""
    for case in json.loads((FOLDER / "sheets.json").read_text()):
        sheets = [
            sheet_of(
                {
                    **({"units": {"level": case["units_level"]}} if case["units_level"] else {}),
                    "working_space": case["working_space"],
                    "camera": case["camera"],
                    "marks": case["marks"],
                    "lights": case[side]["lights"],
                    **({"environments": case[side]["envs"]} if case[side]["envs"] else {}),
                },
                f"S{index}",
            )
            for index, side in enumerate(("master", "shot"))
        ]
        rig = rig_at(sheets)
        for mark in case["marks"]:
            at = levels_at(rig, mark)
            rows = [row for row in case["illuminance"] if row["mark"] == mark]
            whole = max(sum(row[side] for row in rows) for side in ("master", "shot"))
            for index, side in enumerate(("master", "shot")):
                for row in rows:
                    light = case[side]["lights"].get(row["light"])
                    if light is None:
                        continue
                    found = at.value[index, at.rig.names.index(row["light"])]
                    shaped = "cone" in light or "focus" in light
                    kind = f"{light['type']}{'_shaped' if shaped and light['type'] != 'spot' else ''}"
                    yield Figure(
                        case["setup"],
                        f"{kind}{'_coloured' if 'color' in light and 'temperature' in light else ''}",
                        mark,
                        row["light"],
                        shaped,
                        row[side],
                        float(found),
                        row[side] / whole if whole else 1.0,
                    )


def usd_figures() -> Iterator[Figure]:
    """Every light of the pairs of USD scenes at their face, in both states."""
    from samelight.sources.usd.capture import capture_usd

    for setup, case in json.loads((FOLDER / "usd.json").read_text()).items():
        sheets = [
            sheet_of(
                {
                    k: v
                    for k, v in capture_usd(FOLDER / "usd" / setup / f"{side}.usda").items()
                    if k not in ("samelight", "shot")
                },
                f"S{index}",
            )
            for index, side in enumerate(("KEY", "SHOT"))
        ]
        at = levels_at(rig_at(sheets), "face")
        whole = max(sum(pair[index] or 0.0 for pair in case["lights"].values()) for index in range(2))
        for index in range(2):
            for name, pair in case["lights"].items():
                if pair[index] is None:
                    continue
                names = {path: own for own, path in sheets[index].typed["source"]["lights"].items()}
                own = names.get(name, name)
                found = float(at.value[index, at.rig.names.index(own)]) if own in at.rig.names else math.nan
                yield Figure(
                    setup,
                    case["kind"],
                    "face",
                    name,
                    True,
                    pair[index],
                    found,
                    pair[index] / whole if whole else 1.0,
                )


def told(figures: list[Figure], least: float = 1e-3) -> str:
    """Median and worst error in stops by kind, of lights that give at least a share of their mark's light."""
    lines = []
    for kind in sorted({figure.kind for figure in figures}):
        of_kind = [figure for figure in figures if figure.kind == kind and figure.share >= least]
        if not of_kind:
            continue
        errors = np.array([figure.stops for figure in of_kind])
        worst = max(of_kind, key=lambda figure: figure.stops)
        lines.append(
            f"{kind:<22}{len(of_kind):>5}  median {np.median(errors):8.4f}  worst {errors.max():8.4f}"
            f"  {worst.setup} {worst.mark} {worst.light} {worst.expected:.6g} {worst.found:.6g}"
        )
    return "\n".join(lines)


if __name__ == "__main__":
    print(told(list(sheet_figures())))
    print()
    print(told(list(usd_figures())))

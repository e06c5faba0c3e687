"""Small scenes as plain trees, and the computed rows of their table."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from samelight.drift.cells import ComparedCell
from samelight.drift.computed.derived import derived_rows
from samelight.drift.derived_names import SECTIONS
from samelight.drift.policy import Policy, default_policy, read_policy
from samelight.drift.table import Table, build_table
from samelight.sheets.resources import sample_sequence
from samelight.sheets.sheet import Sheet, sheet_from_document
from samelight.sheets.trees import parse_document
from samelight.sheets.writing import yaml_text

Tree = dict[str, Any]

FACE: Tree = {"position": [0, 0, 0], "normal": [0, 0, 1]}
CAMERA: Tree = {"position": [0, 0, 5]}


def sheet(shot: str, tree: Mapping[str, Any]) -> Sheet:
    """A sheet of what is written, as from a file."""
    text = yaml_text({"samelight": 2, **({"shot": shot} if shot else {}), **tree})
    return sheet_from_document(parse_document(Path(f"{shot or 'master'}.yaml"), text), shot=shot or None)


def point(intensity: float, *position: float, **more: Any) -> Tree:
    """A point light."""
    return {"type": "point", "intensity": intensity, "position": list(position), **more}


def shot(lights: Tree, **more: Any) -> Tree:
    """What a shot's sheet holds, its face at the origin and its camera in front of it."""
    return {"camera": CAMERA, "marks": {"face": FACE}, "lights": lights, **more}


def matching_faces() -> Policy:
    """Harbour's policy: a face has to match itself in the key shot, closer than the program asks by itself."""
    return read_policy(sample_sequence("harbour") / "policy.yaml", default_policy())


class Scene:
    """A master setup and shots, and the table of their computed rows."""

    def __init__(
        self, master: Tree, key: str | None = None, policy: Policy | None = None, /, **shots: Tree
    ) -> None:
        self.master = sheet("", master)
        self.sheets = {name: sheet(name, tree) for name, tree in shots.items()}
        self.key = None if key is None else self.sheets[key]
        names = tuple(self.sheets)
        rows = derived_rows(names, self.sheets, self.master, self.key)
        self.table: Table = build_table(names, self.sheets, self.master, policy or default_policy(), rows)

    def cell(self, parameter: str, shot: str = "A") -> ComparedCell:
        """A cell by its name. Raises KeyError when the table has no such row."""
        row, column = self.table.row(parameter), self.table.column(shot)
        if row is None or column is None:
            raise KeyError(parameter)
        return self.table.cell(row, column)

    def has(self, parameter: str) -> bool:
        """Whether the table has the row."""
        return self.table.row(parameter) is not None

    def computed(self) -> dict[tuple[str, str], ComparedCell]:
        """Every computed cell by shot and parameter."""
        return {
            (name, what.parameter): self.table.cell(row, column)
            for row, what in enumerate(self.table.rows)
            if what.section in SECTIONS
            for column, name in enumerate(self.table.shots)
        }

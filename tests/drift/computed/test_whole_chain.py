"""Properties that hold from what is typed to the computed drift, whatever the scene."""

from __future__ import annotations

import copy
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from drift.computed.scenes import Scene, Tree
from samelight.drift.cells import ComparedCell, Grade
from samelight.drift.computed.derived import derived_rows
from samelight.drift.metrics import SCALES
from samelight.drift.policy import default_policy
from samelight.drift.table import Table, build_table
from samelight.sequence.session import open_session
from samelight.sheets.resources import sample_sequence
from samelight.sheets.sheet import Sheet
from samelight.sheets.values import Curve, Level, Value
from thoroughness import examples

SLOW = settings(max_examples=examples(30), suppress_health_check=[HealthCheck.too_slow])


def numbers(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high).map(lambda number: round(number, 3))


def places(height: float = 2.5) -> st.SearchStrategy[list[float]]:
    return st.tuples(numbers(-4, 4), numbers(0, height), numbers(-4, 4)).map(list)


def in_front() -> st.SearchStrategy[list[float]]:
    """Places of lights, away from every mark."""
    return st.tuples(numbers(-4, 4), numbers(0, 1), numbers(5, 8)).map(list)


@st.composite
def lights(draw: st.DrawFn) -> Tree:
    found: Tree = {
        "sun": {
            "type": "distant",
            "azimuth": draw(numbers(0, 359)),
            "elevation": draw(numbers(5, 70)),
            "intensity": draw(numbers(0.5, 5)),
        }
    }
    for index, shape in enumerate(draw(st.lists(st.sampled_from(SHAPES), max_size=4))):
        found[f"light_{index}"] = {
            "type": shape,
            "position": draw(in_front()),
            "target": draw(places(1)),
            "intensity": draw(numbers(0.1, 20)),
            "normalize": draw(st.booleans()),
            "radius": draw(numbers(0.01, 0.5)),
            "width": draw(numbers(0.1, 2)),
            "height": draw(numbers(0.1, 2)),
            "length": draw(numbers(0.1, 2)),
            **({"cone": draw(numbers(20, 90)), "softness": draw(numbers(0, 1))} if shape == "spot" else {}),
        }
    return found


SHAPES = ("point", "spot", "sphere", "disk", "rect", "cylinder")


@st.composite
def scenes(draw: st.DrawFn) -> tuple[Tree, Tree, Tree]:
    """A master, its key shot and a shot in which some things differ."""
    rig = draw(lights())
    sky = {"sky": {"intensity": 0.3, "rotation": draw(numbers(0, 359))}}
    marks = {"face": {"position": draw(places()), "normal": [0, 0, 1]}}
    if draw(st.booleans()):
        marks["bow"] = {"position": draw(places())}
    key = {"lights": rig, "environments": sky, "marks": marks, "camera": {"position": [0, 1.7, 9]}}
    other = copy.deepcopy(key)
    other["marks"]["face"]["position"] = draw(places())
    other["environments"]["sky"]["rotation"] = draw(numbers(0, 359))
    for light in other["lights"].values():
        if draw(st.booleans()):
            light["intensity"] = draw(numbers(0.1, 20))
        if "position" in light and draw(st.booleans()):
            light["position"] = draw(in_front())
    return {"lights": rig, "environments": sky}, key, other


def turned(tree: Any, degrees: float) -> Any:
    """What is typed, turned about the vertical: clockwise as seen from above, as azimuths count."""
    angle = math.radians(-degrees)
    c, s = math.cos(angle), math.sin(angle)
    if isinstance(tree, list):
        x, y, z = tree
        return [c * x + s * z, y, -s * x + c * z]
    found = {}
    for name, value in tree.items():
        if name in ("azimuth", "rotation"):
            found[name] = value + degrees
        else:
            found[name] = turned(value, degrees) if isinstance(value, dict | list) else value
    return found


LENGTHS = ("radius", "width", "height", "length")


def in_centimetres(tree: Any) -> Any:
    """What is typed, every length times a hundred; directions and normals as they were."""
    found = {}
    for name, value in tree.items():
        if isinstance(value, dict):
            found[name] = in_centimetres(value)
        elif name in ("position", "target"):
            found[name] = [100 * number for number in value]
        else:
            found[name] = 100 * value if name in LENGTHS else value
    return found


def same_drift(one: Scene, other: Scene) -> None:
    first, second = one.computed(), other.computed()
    assert first.keys() == second.keys()
    for spot, cell in first.items():
        same_cell(cell, second[spot])


def same_cell(cell: ComparedCell, other: ComparedCell) -> None:
    near = 1e-6 if SCALES[cell.value_kind].unit == "deg" else 1e-7
    assert other.drift == pytest.approx(cell.drift, abs=near, nan_ok=True), cell
    # A drift on the edge of its tolerance may fall on either side.
    if not math.isclose(abs(cell.drift), cell.tolerance, rel_tol=1e-4):
        worth = {Grade.SAME: Grade.WITHIN}
        assert worth.get(cell.grade, cell.grade) == worth.get(other.grade, other.grade), (cell, other)


@SLOW
@given(scenes(), st.integers(1, 359))
def test_turning_the_whole_scene_changes_no_drift(scene: tuple[Tree, Tree, Tree], degrees: int) -> None:
    master, key, other = scene
    same_drift(
        Scene(master, "KEY", KEY=key, A=other),
        Scene(turned(master, degrees), "KEY", KEY=turned(key, degrees), A=turned(other, degrees)),
    )


@SLOW
@given(scenes())
def test_another_unit_of_length_changes_no_drift(scene: tuple[Tree, Tree, Tree]) -> None:
    """Centimetres, while areas count in square metres as before."""
    units = {"units": {"length": "cm", "area": "m"}}
    master, key, other = (in_centimetres(tree) | units for tree in scene)
    same_drift(Scene(scene[0], "KEY", KEY=scene[1], A=scene[2]), Scene(master, "KEY", KEY=key, A=other))


@SLOW
@given(scenes(), st.sampled_from([2.0, 4.0]))
def test_all_lights_brighter_moves_every_level_alike(scene: tuple[Tree, Tree, Tree], factor: float) -> None:
    """The shot's lights and environments all up by whole stops, while key, sides and ratios stay."""
    master, key, _ = scene
    bright = copy.deepcopy(key)
    for section in ("lights", "environments"):
        for light in bright[section].values():
            light["intensity"] *= factor
    for (shot, parameter), cell in Scene(master, "KEY", KEY=key, A=bright).computed().items():
        if shot == "A" and cell.master is not None and cell.grade is not Grade.NONE:
            scaled = isinstance(cell.value, Level) and not parameter.endswith(("key_to_fill", "contrast"))
            if scaled and cell.value != Level(0.0):
                assert cell.drift == pytest.approx(math.log2(factor)), cell
            elif not scaled:
                assert cell.grade <= Grade.WITHIN, cell


@SLOW
@given(numbers(0.5, 5), numbers(0.5, 50), st.tuples(numbers(-1, 1), numbers(-1, 1), numbers(0.2, 1)))
def test_doubling_the_distance_of_a_point_loses_two_stops(
    distance: float, intensity: float, aside: tuple[float, float, float]
) -> None:
    def rig(times: float) -> Tree:
        at = [times * distance * part for part in aside]
        return {"lamp": {"type": "point", "intensity": intensity, "position": at}}

    marks = {"face": {"position": [0, 0, 0], "normal": [0, 0, 1]}}
    scene = Scene({"lights": rig(1)}, A={"lights": rig(2), "marks": marks})
    assert scene.cell("marks.face.level.lamp").drift == pytest.approx(-2.0)
    assert scene.cell("marks.face.level").drift == pytest.approx(-2.0)


@SLOW
@given(scenes())
def test_a_shot_equal_to_the_master_drifts_nowhere(scene: tuple[Tree, Tree, Tree]) -> None:
    master, key, _ = scene
    for cell in Scene(master, "KEY", KEY=key).computed().values():
        assert cell.grade in (Grade.NONE, Grade.SAME), cell


def test_turning_the_harbour_changes_no_drift() -> None:
    """Every spelling of the sample, turned as canonical values."""
    session = open_session(sample_sequence("harbour"))
    assert session.contents.master is not None
    shots = session.contents.shots

    def table(degrees: float) -> Table:
        assert session.contents.master is not None
        sheets = {shot: _turned_sheet(sheet, degrees) for shot, sheet in session.contents.sheets.items()}
        master = _turned_sheet(session.contents.master, degrees)
        rows = derived_rows(shots, sheets, master, sheets["HB_040"])
        return build_table(shots, sheets, master, default_policy(), rows)

    one, other = table(0.0), table(77.0)
    assert [row.parameter for row in one.rows] == [row.parameter for row in other.rows]
    checked = 0
    for index, row in enumerate(one.rows):
        if row.section in ("marks", "rays", "sky", "count"):
            for column in range(len(shots)):
                same_cell(one.cell(index, column), other.cell(index, column))
                checked += 1
    assert checked > 500


def _turned_sheet(sheet: Sheet, degrees: float) -> Sheet:
    turned_sections = {
        section: {
            name: {leaf: _turned_value(leaf, value, degrees) for leaf, value in group.items()}
            for name, group in groups.items()
        }
        if section in ("lights", "environments", "marks", "camera")
        else groups
        for section, groups in sheet.sections.items()
    }
    return replace(sheet, sections=turned_sections)


def _turned_value(leaf: str, value: Value, degrees: float) -> Value:
    if leaf in ("position", "direction", "normal") and isinstance(value, tuple):
        found = np.array(turned(list(value), degrees))
        if leaf != "position":
            found = found / np.linalg.norm(found)
        return tuple(found.tolist())
    if leaf == "rotation" and isinstance(value, float):
        return (value + degrees) % 360.0
    assert not (isinstance(value, Curve) and leaf in ("position", "direction", "normal", "rotation"))
    return value

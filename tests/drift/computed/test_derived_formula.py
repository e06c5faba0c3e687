"""Formulas of computed cells, with inputs that lead to the figure."""

from __future__ import annotations

import math
import re
from typing import Any

import pytest

from drift.computed.scenes import Scene, Tree, point, shot
from samelight.drift.computed.derived_explanations import derived_formula
from samelight.drift.explanations import formula
from samelight.sheets.values import Level


def lines_of(scene: Scene, parameter: str, name: str = "A") -> list[str]:
    return derived_formula(scene.cell(parameter, name), scene.master, scene.sheets[name], scene.key)


def own_line(scene: Scene, parameter: str) -> str:
    (line,) = (line for line in lines_of(scene, parameter) if line.startswith("shot: "))
    return line


def figure(line: str) -> float:
    """The number that a line ends in."""
    found = re.search(r"([0-9.]+)(?: lx)?$", line)
    assert found, line
    return float(found[1])


def inputs(line: str) -> dict[str, float]:
    return {name: float(value) for name, value in re.findall(r"(\S+) = ([0-9.]+)", line)}


PLACED: Tree = {"position": [0, 1, 2], "target": [0, 0, 0], "intensity": 5, "normalize": True}
SHAPES: dict[str, Tree] = {
    "point": point(5, 0, 1, 2),
    "spot": {**PLACED, "type": "spot", "target": [0, 0.6, 0], "cone": 20, "softness": 0.5},
    "sphere": {**PLACED, "type": "sphere", "radius": 0.3},
    "disk": {**PLACED, "type": "disk", "radius": 0.3},
    "rect": {**PLACED, "type": "rect", "width": 1, "height": 0.5},
    "cylinder": {**PLACED, "type": "cylinder", "radius": 0.1, "length": 1},
}


@pytest.mark.parametrize("unit", ["relative", "cd"])
@pytest.mark.parametrize("shape", SHAPES)
def test_the_inputs_of_a_placed_light_lead_to_its_figure(shape: str, unit: str) -> None:
    lights = {"lamp": {**SHAPES[shape], "unit": unit}}
    scene = Scene({"lights": lights}, A=shot(lights))
    line = own_line(scene, "marks.face.level.lamp")
    value = scene.cell("marks.face.level.lamp").value
    assert isinstance(value, Level)
    assert figure(line) == pytest.approx(value.value, rel=1e-3)
    assert line.endswith(" lx") is (unit == "cd")
    known = inputs(line)
    share = float(found[1]) if (found := re.search(r"cone share ([0-9.]+)", line.split(":", 2)[2])) else 1.0
    assert (share < 1.0) is (shape == "spot")
    if "v" in known:
        computed = known["I"] * known["v"] / known["A"] * share
    else:
        computed = known["I"] * math.cos(math.radians(known["θ"])) / known["d"] ** 2 * share
    assert computed == pytest.approx(value.value, rel=0.01)


def test_both_references_are_named() -> None:
    lights = {"lamp": point(8, 0, 0, 2)}
    moved = {"lamp": point(8, 3, 0, 2)}
    walked = {"face": {"position": [3, 0, 0], "normal": [0, 0, 1]}}
    scene = Scene({"lights": lights}, "KEY", KEY=shot(lights), A=shot(moved, marks=walked), B=shot(moved))
    (at_key,) = (line for line in lines_of(scene, "marks.face.level.lamp") if line.startswith("reference"))
    assert at_key.startswith(
        "reference, the master's light carried along from the key shot's mark, since this light follows its mark: E = "
    )
    (own,) = (line for line in lines_of(scene, "marks.face.level.lamp", "B") if line.startswith("reference"))
    assert own.startswith("reference, the master's light at the shot's own mark: E = ")


@pytest.mark.parametrize(
    ("light", "said"),
    [
        ({**point(5, 0, 1, 2), "visible": False}, "off, or seen by no ray"),
        ({"type": "mesh", "position": [0, 1, 1], "intensity": 3}, "not known"),
        ({"type": "portal", "position": [0, 1, 1]}, "a portal gives no light"),
    ],
)
def test_lights_without_a_figure_say_why(light: Tree, said: str) -> None:
    scene = Scene(
        {"lights": {"lamp": point(5, 0, 1, 2)}},
        A=shot({"lamp": light}),
        B=shot({"lamp": point(5, 0, 1, 2)}),
    )
    assert said in own_line(scene, "marks.face.level.lamp")


def test_an_animated_light_names_its_frame() -> None:
    flicker = {"lamp": {**point(8, 0, 0, 2), "intensity": {"keys": [[1, 8], [5, 16]]}}}
    scene = Scene({"lights": {"lamp": point(8, 0, 0, 2)}}, A=shot(flicker, frames=[1, 5]))
    assert "at frame 5" in lines_of(scene, "marks.face.level.lamp")
    assert figure(own_line(scene, "marks.face.level.lamp")) == 4.0
    assert "at frame 5" in lines_of(scene, "marks.face.level")


def test_a_cell_that_is_not_graded_is_explained_at_the_moment_it_shows() -> None:
    """Under a 64th of all light: the first moment is shown, though a later one deviates more."""
    strong = {"key": point(100_000, 0, 0, 2)}
    faint = {**strong, "lamp": {**point(8, 0, 0, 2), "intensity": {"keys": [[1, 8], [5, 64]]}}}
    bright = {**strong, "lamp": point(50_000, 0, 0, 2)}
    setup = {"lights": {**strong, "lamp": point(8, 0, 0, 2)}}
    scene = Scene(setup, A=shot(faint, frames=[1, 5]), B=shot(bright))
    cell = scene.cell("marks.face.level.lamp")
    assert "not graded" in cell.remark and isinstance(cell.value, Level)
    assert figure(own_line(scene, "marks.face.level.lamp")) == pytest.approx(cell.value.value, rel=1e-3)


def test_a_sum_names_its_terms() -> None:
    lights = {"lamp": point(8, 0, 0, 2), "fill": point(2, 0, 0, 2)}
    skies = {"sky": {"intensity": 1}}
    scene = Scene({"lights": lights, "environments": skies}, A=shot(lights, environments=skies))
    assert own_line(scene, "marks.face.level") == "shot: sky 3.142 + lamp 2 + fill 0.5 = 5.642"
    assert own_line(scene, "marks.face.fill") == "shot: without the key lamp: sky 3.142 + fill 0.5 = 3.642"
    assert own_line(scene, "marks.face.key") == "shot: lamp, of lamp 2, fill 0.5"
    assert own_line(scene, "marks.face.key_to_fill") == "shot: lamp 2 / fill 3.642 = 0.5492"


def test_typed_cells_have_no_such_formula() -> None:
    lights: dict[str, Any] = {"lamp": point(8, 0, 0, 2)}
    scene = Scene({"lights": lights}, A=shot({"lamp": point(4, 0, 0, 2)}))
    assert lines_of(scene, "lights.lamp.level") == []
    assert formula(scene.cell("lights.lamp.level"))[0].startswith("level = intensity")


def test_the_formula_without_sheets_tells_the_rule_and_the_last_step() -> None:
    lights = {"lamp": point(8, 0, 0, 2)}
    scene = Scene({"lights": lights}, A=shot({"lamp": point(4, 0, 0, 2)}))
    lines = formula(scene.cell("marks.face.level.lamp"))
    assert "key shot's mark" in " ".join(lines)
    assert "light links" in " ".join(lines)
    assert lines[-1] == "log₂(1 / 2) = −1.00 st"
    assert formula(scene.cell("count.lights"))[-1] == "1 / 1 = ×1"

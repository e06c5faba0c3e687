"""A light that authors UsdLux's fallbacks and one that authors nothing are one light, however their sheets came about."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from pxr import Usd

from conftest import write_sequence
from known import there
from samelight.drift.cells import Grade
from samelight.drift.policy import default_policy
from samelight.drift.table import Table, build_table
from samelight.gui.state.cell_words import NOT_AUTHORED, sides
from samelight.sequence.session import open_session
from samelight.sheets.parameters import LIGHT
from samelight.sheets.sheet import Sheet, sheet_from_document
from samelight.sheets.trees import parse_document
from samelight.sheets.writing import yaml_text
from samelight.sources.request import CaptureRequest
from samelight.sources.usd.attributes import ROWS
from samelight.sources.usd.capture import capture_usd
from samelight.sources.usd.override import Change, write_override
from samelight.sources.usd.values import plain

HEAD = '#usda 1.0\n(metersPerUnit = 1\nupAxis = "Y"\n)\n'
TYPES = ("DistantLight", "SphereLight", "RectLight", "DiskLight", "CylinderLight", "DomeLight", "PortalLight")


def definitions() -> list[Any]:
    registry = Usd.SchemaRegistry()
    return [
        *map(registry.FindConcretePrimDefinition, TYPES),
        *map(registry.FindAppliedAPIPrimDefinition, ("ShapingAPI", "ShadowAPI")),
    ]


def fallback(definition: Any, name: str) -> bool | float | list[float]:
    value = definition.GetAttributeFallbackValue(name)
    found: bool | float | list[float] = plain(value, single=True)
    return found


def test_what_an_unstated_parameter_means_is_what_the_schema_says() -> None:
    asked = 0
    for row in ROWS:
        meant = LIGHT[row.sheet].unstated if row.sheet in LIGHT else None
        for definition in definitions() if meant is not None and row.sheet != "visible" else ():
            if row.usd in definition.GetPropertyNames():
                assert fallback(definition, row.usd) == meant, row.usd
                asked += 1
    assert asked > 20


def authored(kind: str) -> str:
    """The text of a light that authors every fallback of its schemas."""
    registry = Usd.SchemaRegistry()
    schemas = [
        registry.FindConcretePrimDefinition(kind),
        registry.FindAppliedAPIPrimDefinition("ShadowAPI"),
    ]
    stage = Usd.Stage.CreateInMemory()
    prim = stage.DefinePrim("/key", kind)
    prim.ApplyAPI("ShadowAPI")
    for schema in schemas:
        for name in schema.GetPropertyNames():
            value = schema.GetAttributeFallbackValue(name) if not name.startswith("collection") else None
            if value is not None and name != "extent":
                prim.GetAttribute(name).Set(value)
    return str(stage.GetRootLayer().ExportToString()).partition("\n")[2]


@pytest.fixture(scope="module")
def spelt(tmp_path_factory: pytest.TempPathFactory) -> dict[tuple[str, str], Any]:
    """Every type of light twice: with all fallbacks authored and with none, as captured trees."""
    folder = tmp_path_factory.mktemp("fallbacks")
    found = {}
    for kind in TYPES:
        for how, text in (("all", authored(kind)), ("none", f'def {kind} "key"\n{{\n}}\n')):
            path = folder / f"{kind}_{how}.usda"
            path.write_text(HEAD + text)
            found[kind, how] = capture_usd(path, CaptureRequest(shot="S"))
    return found


def sheet_of(tree: dict[str, Any]) -> Sheet:
    return sheet_from_document(parse_document(Path("sheet.yaml"), yaml_text(tree)))


def table_of(master: Sheet, shot: Sheet) -> Table:
    return build_table(["S"], {"S": shot}, master, default_policy())


@pytest.mark.parametrize("kind", TYPES)
def test_authored_or_not_is_the_same_light(spelt: dict[tuple[str, str], Any], kind: str) -> None:
    one, other = (sheet_of(spelt[kind, how]) for how in ("all", "none"))
    for master, shot in ((one, other), (other, one)):
        table = table_of(master, shot)
        assert [cell.parameter for cell in table.cells(above=Grade.SAME)] == []
        # Each row that one of the two states holds the same on both sides.
        assert all(
            there(entry).master == there(entry).value
            for row in range(len(table.rows))
            for entry in table.line(row)
        )


def test_what_one_side_leaves_out_is_compared_with_what_it_means(
    captured: Callable[..., dict[str, Any]],
) -> None:
    text = '(metersPerUnit = 1\nupAxis = "Y"\n)\ndef SphereLight "key"\n{{\n{}\n}}\n'
    half, plain_light = (
        sheet_of(captured(text.format(inside)))
        for inside in ("float inputs:diffuse = 0.5\ntoken visibility = 'invisible'".replace("'", '"'), "")
    )
    for master, shot, stops in ((half, plain_light, 1.0), (plain_light, half, -1.0)):
        drifting = {cell.parameter: cell for cell in table_of(master, shot).cells(above=Grade.SAME)}
        assert set(drifting) == {"lights.key.diffuse", "lights.key.visible"}
        assert drifting["lights.key.diffuse"].drift == pytest.approx(stops)
        assert drifting["lights.key.visible"].value is not drifting["lights.key.visible"].master


def test_a_sheet_that_somebody_typed_is_held_alike() -> None:
    typed = (
        "samelight: 2\nlights:\n  key: {type: sphere, intensity: 1, radius: 0.5, visible: true, diffuse: 1}\n"
    )
    short = "samelight: 2\nlights:\n  key: {type: sphere, intensity: 1, radius: 0.5}\n"
    one, other = (sheet_from_document(parse_document(Path("sheet.yaml"), text)) for text in (typed, short))
    for master, shot in ((one, other), (other, one)):
        assert list(table_of(master, shot).cells(above=Grade.SAME)) == []


def test_the_inspector_says_what_nobody_authored(tmp_path: Path, spelt: dict[tuple[str, str], Any]) -> None:
    tree = spelt["SphereLight", "none"]
    assert tree["source"]["unauthored"]["key"] == ["intensity", "exposure", "color", "normalize", "radius"]
    assert "unauthored" not in spelt["SphereLight", "all"]["source"]
    master = {
        "samelight": 2,
        "units": {"level": "nit"},
        "lights": {"key": {**tree["lights"]["key"], "radius": 1}},
    }
    session = open_session(write_sequence(tmp_path / "quay", master=master, shots={"S": tree}))
    row = there(session.table.row("lights.key.radius"))
    compared_with, shot = sides(session, session.table.cell(row, 0), session.table.rows[row])
    assert shot.typed == (f"radius: 0.5{NOT_AUTHORED}",)
    assert compared_with.typed == ("radius: 1",)


@pytest.mark.parametrize("kind", ["SphereLight", "RectLight", "DistantLight"])
def test_a_shaped_light_without_an_authored_cone_is_put_back_to_what_it_was(
    tmp_path: Path, kind: str
) -> None:
    """USD takes half a sphere for it, which a rectangle shines into without any cone."""
    trees = []
    for name, angle in (("master", ""), ("shot", "float inputs:shaping:cone:angle = 40")):
        path = tmp_path / f"{name}.usda"
        path.write_text(f'{HEAD}def {kind} "key" (prepend apiSchemas = ["ShapingAPI"])\n{{\n{angle}\n}}\n')
        trees.append(capture_usd(path))
    wanted = trees[0]["lights"]["key"].get("cone")
    assert wanted == (90.0 if kind == "SphereLight" else None)
    layer = tmp_path / "layer.usda"
    change = Change("lights", "key", "cone", wanted, "")
    assert write_override(layer, tmp_path / "shot.usda", trees[1]["source"], [change], "") == (1, [])
    assert "cone:angle = 90" in layer.read_text()

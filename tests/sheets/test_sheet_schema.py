"""The JSON Schema of a sheet: sound by itself, true to the samples, and never stricter than the reader."""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from samelight.sheets.errors import SheetError
from samelight.sheets.parameters import CAMERA, ENVIRONMENT, LIGHT, Parameter
from samelight.sheets.resources import sample_sequence
from samelight.sheets.schema import DIALECT, sheet_schema
from samelight.sheets.trees import parse_document, read_document
from samelight.sheets.units import FACTORS, LIGHT_UNITS, METRES, parse_duration, parse_quantity
from samelight.sheets.vocabulary import SHEET_KEYS
from samelight.sheets.writing import yaml_text
from sheets.sheet_help import YAML, sheet_of

SCHEMA = sheet_schema()
VALIDATOR = Draft202012Validator(SCHEMA)
SAMPLES = [
    path
    for name in ("harbour", "first_steps")
    for folder in ("shots/*", "master")
    for path in sorted(sample_sequence(name).glob(f"{folder}/*.v*.*"))
]


def is_valid(tree: object) -> bool:
    return bool(VALIDATOR.is_valid(tree))


def light(**typed: Any) -> dict[str, Any]:
    return {"samelight": 2, "lights": {"sun": typed}}


class TestItself:
    def test_is_a_schema_of_its_dialect(self) -> None:
        assert SCHEMA["$schema"] == DIALECT
        Draft202012Validator.check_schema(SCHEMA)

    def test_is_plain_json(self) -> None:
        assert json.loads(json.dumps(SCHEMA)) == SCHEMA

    def test_knows_every_key_of_a_sheet_and_no_other(self) -> None:
        assert set(SCHEMA["properties"]) == SHEET_KEYS
        assert SCHEMA["additionalProperties"] is False

    def test_every_reference_leads_somewhere(self) -> None:
        text = json.dumps(SCHEMA)
        names = {part.split('"')[0] for part in text.split('"#/$defs/')[1:]}
        assert names == set(SCHEMA["$defs"])

    @pytest.mark.parametrize(
        ("section", "parameters"), [("lights", LIGHT), ("environments", ENVIRONMENT), ("camera", CAMERA)]
    )
    def test_knows_every_parameter_with_its_meaning(
        self, section: str, parameters: dict[str, Parameter]
    ) -> None:
        group = SCHEMA["properties"][section]
        group = group if section == "camera" else group["additionalProperties"]
        known = group["properties"]
        for name, parameter in parameters.items():
            assert known[name]["description"] == parameter.means
        assert "shadow" in known or section == "camera"


class TestSamples:
    @pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.name)
    def test_every_sheet_is_valid(self, path: Path) -> None:
        assert [error.message for error in VALIDATOR.iter_errors(read_document(path).data)] == []

    @pytest.mark.parametrize("path", SAMPLES[::7], ids=lambda path: path.name)
    @pytest.mark.parametrize(
        ("right", "wrong"),
        [("samelight", "samelihgt"), ("lights", "lighst"), ("render", "redner"), ("version", "versoin")],
    )
    def test_misspelt_ones_are_not(self, path: Path, right: str, wrong: str) -> None:
        tree = dict(read_document(path).data)
        tree[wrong] = tree.pop(right)
        assert not is_valid(tree)
        with pytest.raises(SheetError):
            sheet_of(yaml_text(tree))

    @pytest.mark.parametrize("path", SAMPLES[::7], ids=lambda path: path.name)
    @pytest.mark.parametrize("wrong", [3, ["sun"], "sun", True])
    @pytest.mark.parametrize(
        "section", ["lights", "environments", "passes", "surfaces", "render", "units", "marks"]
    )
    def test_sections_of_another_form_are_not(self, path: Path, section: str, wrong: Any) -> None:
        assert not is_valid({**read_document(path).data, section: wrong})


@pytest.mark.parametrize(
    "typed",
    [
        {"type": "distant", "azimuth": 131, "elevation": 24, "temperature": "4300 K", "angle": 0.53},
        {"type": "LaserLight", "anything": {"at": ["all"]}},
        {"intensity": "800 lx", "exposure": "0.5 st", "unit": "lux"},
        {"radius": "4 cm", "width": 3, "cone": "32 deg", "softness": "20 %"},
        {"temperature": "200 mired"},
        {"seen_by": "camera", "light_links": ["*", 3]},
        {"matrix": [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1]},
        {"matrix": [[1, 0, 0, 0], [0, 1, 0, 0], [0, 0, 1, 0], [0, 0, 0, 1]]},
        {"rotation": [1, "2 deg", 3], "rotation_order": "ZYX"},
        {"exposure": {"keys": [[1001, 2.0], [1048, "1 st"]], "interpolation": "linear"}},
        {"position": {"keys": [[1, [1, "2 m", 3]]]}},
        {"shadow": {"enable": True, "distance": -1, "bias": 3}},
        {"shadow.enable": True},
        {"shadow": "soft"},
    ],
)
def test_valid_lights(typed: dict[str, Any]) -> None:
    assert is_valid(light(**typed))
    sheet_of(yaml_text(light(**typed)))


@pytest.mark.parametrize(
    "typed",
    [
        {"type": 3},
        {"type": ""},
        {"type": "laser"},
        {"temperature": None},
        {"anything": None},
        {"5": 1},
        {"color": [1, 2]},
        {"color": [1, 2, -3]},
        {"color": "red"},
        {"temperature": 3},
        {"temperature": "4300 m"},
        {"intensity": -1},
        {"intensity": "bright"},
        {"intensity": {"value": 3}},
        {"unit": "watt"},
        {"azimuth": "south"},
        {"elevation": 124},
        {"matrix": [0] * 15},
        {"matrix": [[0] * 4] * 3},
        {"rotation": 40},
        {"rotation": [0, 0, 0], "rotation_order": "XZZ"},
        {"rotation_order": "XZZ"},
        {"position": [0, 1]},
        {"position": [0, 1, "2 kg"]},
        {"radius": "big"},
        {"radius": -1},
        {"angle": 400},
        {"samples": "many"},
        {"visible": "yes"},
        {"seen_by": 3},
        {"light_links": [["/a"]]},
        {"shadow": {"enable": 1}},
        {"shadow.color": "black"},
        {"exposure": {"keys": []}},
        {"exposure": {"keys": [[1]]}},
        {"exposure": {"keys": [["a", 1]]}},
        {"exposure": {"keys": [[1, "x"]]}},
        {"exposure": {"keys": [[1, 2]], "interpolation": "wavy"}},
        {"exposure": {"keys": [[1, 2]], "interpolaton": "held"}},
        {"": 1},
    ],
)
def test_invalid_lights_are_faults_too(typed: dict[str, Any]) -> None:
    assert not is_valid(light(**typed))
    with pytest.raises(SheetError):
        sheet_of(yaml_text(light(**typed)))


@pytest.mark.parametrize(
    "tree",
    [
        {},
        {"samelight": 3},
        {"samelight": True},
        {"samelight": 2, "version": 1.5},
        {"samelight": 2, "master": -1},
        {"samelight": 2, "frames": [1]},
        {"samelight": 2, "units": {"lenght": "cm"}},
        {"samelight": 2, "units": {"length": "mile"}},
        {"samelight": 2, "units": {"length": 0}},
        {"samelight": 2, "up_axis": "X"},
        {"samelight": 2, "working_space": "rgb"},
        {"samelight": 2, "marks": {"face": {}}},
        {"samelight": 2, "marks": {"face": {"position": [0, 0, 0], "nromal": [0, 0, 1]}}},
        {"samelight": 2, "cost": {"test_frame": "soon"}},
        {"samelight": 2, "camera": {"moves": "maybe"}},
        {"samelight": 2, "remarks": "late"},
        {"samelight": 2, "notes": ["a"]},
        {"samelight": 2, "environments": {"sky": {"rotation": "up"}}},
        [],
        3,
    ],
)
def test_other_invalid_sheets_are_faults_too(tree: object) -> None:
    assert not is_valid(tree)
    with pytest.raises(SheetError):
        sheet_of(json.dumps(tree), Path("a.json"))


@given(
    st.sampled_from([*FACTORS, *LIGHT_UNITS, "mired", "kg", "x"]),
    st.from_regex(r"[-+]?[0-9]{0,3}\.?[0-9]{0,2}", fullmatch=True),
)
def test_text_with_a_unit_is_valid_where_the_reader_knows_it(unit: str, number: str) -> None:
    text = f"{number} {unit}"
    quantity = parse_quantity(text)
    dimension = quantity.dimension if quantity else None
    assert is_valid(light(shadow={"distance": text})) is (dimension == "length")
    assert is_valid(light(azimuth=text)) is (dimension == "angle")
    assert is_valid(light(softness=text)) is (dimension == "fraction")
    assert is_valid(light(exposure=text)) is (dimension == "stops")
    assert is_valid(light(intensity=text)) is (dimension == "light")
    # A mired of 0 or less is none; a schema does not see the number in a text.
    if dimension == "temperature" or unit != "mired":
        assert is_valid(light(temperature=text)) is (dimension == "temperature")
    assert is_valid({"samelight": 2, "cost": {"test_frame": text}}) is (parse_duration(text) is not None)


@pytest.mark.parametrize("unit", METRES)
def test_units_of_length(unit: str) -> None:
    assert is_valid({"samelight": 2, "units": {"length": unit}})


TOKENS = st.sampled_from(
    [
        *(
            None,
            True,
            False,
            0,
            1,
            -1,
            0.5,
            24,
            400,
            "4300 K",
            "350 cm",
            "20 %",
            "",
            "lux",
            "spot",
            "held",
            "*",
        ),
        *(
            "yes",
            "XYZ",
            "cm",
            "ACEScg",
            "Z",
            "18m20s",
            [0, 0, 1],
            [1, 1, 1],
            [1, 2],
            ["a", "b"],
            [],
            {},
            [[1, 2]],
        ),
        *([0] * 16, {"a": 1}, {"position": [0, 0, 0]}),
        *({"keys": [[1, 2], [9, 3]]}, {"keys": [[1, [0, 0, 1]]], "interpolation": "held"}),
    ]
)
GROUPS = {
    "lights": [*LIGHT, "rotation", "rotation_order", "matrix", "shadow", "mood"],
    "environments": [*ENVIRONMENT, "rotation_order", "matrix", "mood"],
}


@given(st.data())
def test_what_the_reader_takes_the_schema_takes(data: st.DataObject) -> None:
    section = data.draw(st.sampled_from(sorted(GROUPS)))
    typed = data.draw(st.dictionaries(st.sampled_from(GROUPS[section]), TOKENS, max_size=4))
    top = data.draw(
        st.dictionaries(st.sampled_from(sorted(SHEET_KEYS - {"samelight", section})), TOKENS, max_size=3)
    )
    tree = {"samelight": 2, section: {"sun": typed}, **top}
    try:
        sheet_of(yaml_text(tree))
    except SheetError:
        return
    assert [error.message for error in VALIDATOR.iter_errors(tree)] == []


class TestCommand:
    def run(self, *words: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "-m", "samelight", "schema", *words],
            capture_output=True,
            text=True,
            encoding="utf-8",
            check=False,
        )

    def test_prints_it(self) -> None:
        done = self.run()
        assert (done.returncode, done.stderr) == (0, "")
        assert json.loads(done.stdout) == SCHEMA

    def test_writes_it(self, tmp_path: Path) -> None:
        path = tmp_path / "sheet.schema.json"
        done = self.run("-o", str(path))
        assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
        assert json.loads(path.read_text(encoding="utf-8")) == SCHEMA

    def test_says_when_it_cannot_be_written(self, tmp_path: Path) -> None:
        done = self.run("-o", str(tmp_path))
        assert done.returncode == 2
        assert "could not be written" in done.stderr
        assert "Traceback" not in done.stderr

    def test_has_help(self) -> None:
        done = self.run("--help")
        assert done.returncode == 0
        assert "JSON Schema" in done.stdout


def test_a_sheet_that_yaml_1_1_reads_otherwise_is_still_checked_by_our_reader() -> None:
    text = "samelight: 2\nrender: {gi: {on: true}}\nlights: {sun: {samples: 010}}\n"
    tree = parse_document(YAML, text).data
    assert tree["render"] == {"gi": {"on": True}}
    assert is_valid(tree)

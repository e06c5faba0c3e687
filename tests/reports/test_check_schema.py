"""The published format of a check: what is printed fits it, and it stays what it was."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from conftest import MakeSequence
from samelight.cli.main import main
from samelight.reports.check_schema import check_schema

GOLDEN = Path(__file__).parents[1] / "data" / "check.golden.json"
LAMP = {"type": "spot", "position": [0, 2, 0], "target": [0, 0, 1], "cone": 30, "intensity": 2, "samples": 16}
SUN = {"type": "distant", "azimuth": 131, "elevation": 24, "intensity": 3}


def strict(schema: Any) -> Any:
    """The schema, allowing only the names it has."""
    if isinstance(schema, dict):
        return {
            key: False if key == "additionalProperties" else strict(value) for key, value in schema.items()
        }
    return [strict(item) for item in schema] if isinstance(schema, list) else schema


@pytest.fixture
def quay(make_sequence: MakeSequence) -> Path:
    master = {
        "lights": {"sun": SUN, "lamp": LAMP, "rim": LAMP},
        "render": {"gi": {"range": 3.5, "samples": 192}},
    }
    moved = {**LAMP, "position": [0, 2, 1], "intensity": {"keys": [[1, 2], [9, 4]]}, "samples": 4}
    return make_sequence(
        master=master,
        shots={
            "QU_010": {**master, "lights": {"sun": {**SUN, "azimuth": 143}, "lamp": moved}},
            "QU_020": {**master, "render": {"gi": {"range": 350, "samples": 192}}},
        },
    )


def result(capsys: pytest.CaptureFixture[str], folder: Path, *words: str) -> Any:
    main(["check", str(folder), "--format", "json", *words])
    return json.loads(capsys.readouterr().out)


def test_the_schema_is_one() -> None:
    jsonschema.Draft202012Validator.check_schema(check_schema())


@pytest.mark.parametrize("words", [[], ["--all"], ["--shots", "QU_010"]])
def test_what_is_printed_fits_it(quay: Path, capsys: pytest.CaptureFixture[str], words: list[str]) -> None:
    jsonschema.validate(result(capsys, quay, *words), strict(check_schema()))


def test_the_harbour_fits_it(harbour: Path, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    schema = strict(check_schema())
    found = result(capsys, harbour, "--all")
    jsonschema.validate(found, schema)
    path = tmp_path / "accepted.json"
    path.write_text(json.dumps(found), encoding="utf-8")
    jsonschema.validate(result(capsys, harbour, "--baseline", str(path)), schema)
    assert main(["report", str(harbour), "-o", str(tmp_path / "report.json")]) == 0
    jsonschema.validate(json.loads((tmp_path / "report.json").read_text(encoding="utf-8")), schema)


def promised(result: Any) -> Any:
    """What does not depend on wording, nor on rows that are computed: the typed cells, and which findings explain them."""
    typed = [cell for cell in result["cells"] if cell["parameter"].startswith(("lights.", "render."))]
    names = {(cell["shot"], cell["parameter"]) for cell in typed}
    findings = [
        {
            key: value if key in ("finding", "shots", "sure", "concern", "actions") else type(value).__name__
            for key, value in finding.items()
        }
        for finding in result["findings"]
        if {tuple(pair) for pair in finding["cells"]} & names
    ]
    whole = {**result, "cells": typed, "findings": findings, "counts": list(result["counts"])}
    return {**whole, "ledger": type(result["ledger"]).__name__}


def test_it_is_what_it_was(quay: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Names and meanings are a promise to whoever reads them: this changes only when something is added on purpose."""
    golden = json.loads(GOLDEN.read_text(encoding="utf-8"))
    assert close(promised(result(capsys, quay)), golden)


def close(a: Any, b: Any) -> bool:
    """Equal but for the last digits of floating point, which differ from machine to machine."""
    if isinstance(a, float) and isinstance(b, float):
        return math.isclose(a, b, rel_tol=1e-6, abs_tol=1e-9)
    if isinstance(a, dict) and isinstance(b, dict):
        return list(a) == list(b) and all(close(a[key], b[key]) for key in a)
    if isinstance(a, list) and isinstance(b, list):
        return len(a) == len(b) and all(close(x, y) for x, y in zip(a, b, strict=True))
    return bool(a == b)


def test_the_command_prints_it(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["schema", "check"]) == 0
    assert json.loads(capsys.readouterr().out) == check_schema()

"""`check --only` and the findings in JSON."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from samelight.cli.main import main
from samelight.findings.registry import FINDING_NAMES


def test_a_misspelt_finding_is_named_with_the_nearest(
    harbour: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", str(harbour), "--only", "old-mastr"]) == 2
    assert "no finding old-mastr; did you mean old-master?" in capsys.readouterr().err


def test_a_name_that_is_near_none_gets_the_list(harbour: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(harbour), "--only", "zzz"]) == 2
    said = capsys.readouterr().err
    assert all(name in said for name in FINDING_NAMES)


@pytest.mark.parametrize("name", FINDING_NAMES)
def test_only_one_kind_of_finding_and_its_cells(
    harbour: Path, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    main(["check", str(harbour), "--only", name, "--format", "json"])
    data = json.loads(capsys.readouterr().out)
    assert {finding["finding"] for finding in data["findings"]} <= {name}
    listed = {(cell["shot"], cell["parameter"]) for cell in data["cells"]}
    assert listed == {tuple(pair) for finding in data["findings"] for pair in finding["cells"]}


def test_json_says_what_each_finding_explains(harbour: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["check", str(harbour), "--format", "json"])
    findings = json.loads(capsys.readouterr().out)["findings"]
    sun = next(one for one in findings if one["finding"] == "one-cause")
    assert (sun["harm"]["shot"], sun["harm"]["mark"], sun["harm"]["side"]) == (
        "HB_050",
        "face",
        "front for right",
    )
    assert sun["cells"][:4] == [[f"HB_0{n}0", "lights.sun.direction"] for n in (5, 6, 7, 8)]
    assert all(parameter.startswith("marks.") for _, parameter in sun["cells"][4:])
    assert sun["worst"] == "11.0° (lights.sun.direction, HB_050)"
    assert sun["tolerances_off"] == pytest.approx(21.9, abs=0.05)
    assert sun["concern"] == "picture"
    assert sun["actions"] == ["return", "intend", "show"]

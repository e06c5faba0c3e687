"""`--lighter`: the shots of one lighter, on the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from samelight.cli.main import main


def shots_in(text: str) -> set[str]:
    return {cell["shot"] for cell in json.loads(text)["cells"]}


def test_check_holds_only_the_shots_of_a_lighter(harbour: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["check", str(harbour), "--format", "json"])
    everything = shots_in(capsys.readouterr().out)
    parts = []
    for name in ("Ines", "tomas"):
        assert main(["check", str(harbour), "--lighter", name, "--format", "json"]) == 1
        parts.append(shots_in(capsys.readouterr().out))
    assert parts[0] | parts[1] == everything and not parts[0] & parts[1]
    assert "HB_060" in parts[0] and "HB_120" in parts[1]


def test_shots_narrow_a_lighters_shots_down(harbour: Path, capsys: pytest.CaptureFixture[str]) -> None:
    asked = ["--lighter", "Ines", "--shots", "HB_060-HB_140"]
    main(["check", str(harbour), *asked, "--format", "json"])
    assert max(shots_in(capsys.readouterr().out)) == "HB_100"
    main(["report", str(harbour), *asked, "--format", "json"])
    assert shots_in(capsys.readouterr().out) <= {"HB_060", "HB_070", "HB_080", "HB_090", "HB_100"}


def test_a_name_that_the_sequence_does_not_know(harbour: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(harbour), "--lighter", "Inez"]) == 2
    assert "did you mean Ines" in capsys.readouterr().err

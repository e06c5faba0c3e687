"""The formats of sequence.yaml, policies, decisions and views: what the program reads and writes fits, and what it refuses does not."""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from samelight.cli.main import main
from samelight.decisions import decision
from samelight.drift import policy
from samelight.reports.file_schemas import FILE_SCHEMAS
from samelight.sequence.saved_views import View, view_text
from samelight.sheets import sequence, setups
from samelight.sheets.resources import resource, sample_sequence
from samelight.sheets.trees import parse_document, read_document

SAMPLES = sample_sequence("harbour").parent


def of(name: str) -> Draft202012Validator:
    schema = FILE_SCHEMAS[name]()
    Draft202012Validator.check_schema(schema)
    return Draft202012Validator(schema)


@pytest.mark.parametrize(
    ("name", "pattern"),
    [
        ("sequence", "*/sequence.yaml"),
        ("policy", "*/policy*.yaml"),
        ("decision", "*/decisions/*.yaml"),
    ],
)
def test_the_files_of_the_samples_fit(name: str, pattern: str) -> None:
    paths = sorted(SAMPLES.glob(pattern))
    assert paths
    for path in [*paths, *([resource("policy.yaml")] if name == "policy" else [])]:
        assert [error.message for error in of(name).iter_errors(read_document(path).data)] == [], path


def test_a_view_as_it_is_written_fits() -> None:
    data = parse_document(Path("a.yaml"), view_text(View(pinned=("lights.sun",), column_width=40.0))).data
    assert list(of("view").iter_errors(data)) == []


@pytest.mark.parametrize(
    ("name", "keys"),
    [("sequence", sequence.KEYS), ("policy", policy.KEYS), ("decision", decision.KEYS)],
)
def test_what_may_be_stated_is_what_is_read(name: str, keys: Collection[str]) -> None:
    assert set(FILE_SCHEMAS[name]()["properties"]) == set(keys)


def test_a_set_up_may_state_what_is_read_of_it() -> None:
    stated = FILE_SCHEMAS["sequence"]()["properties"]["setups"]["additionalProperties"]
    assert set(stated["properties"]) == setups.KEYS


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("sequence", {"titel": "Harbour"}),
        ("sequence", {"cut": 7}),
        ("sequence", {"setups": {"day": {"shot": ["A"]}}}),
        ("policy", {"tolerances": {"level": {"most": 1}}}),
        ("policy", {"findings": {"no-such": "drift"}}),
        ("policy", {"kinds": {"a.*": "no kind"}}),
        ("decision", {"verb": "intend"}),
        ("view", {"rows": "some"}),
    ],
)
def test_what_is_refused_does_not_fit(name: str, data: Mapping[str, Any]) -> None:
    assert list(of(name).iter_errors(data))


@pytest.mark.parametrize("name", FILE_SCHEMAS)
def test_the_command_prints_each(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["schema", name]) == 0
    assert json.loads(capsys.readouterr().out) == FILE_SCHEMAS[name]()

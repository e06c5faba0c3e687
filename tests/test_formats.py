"""Files of every format that there was are read as those of today's: `data/formats` has one of each kind in each format.

What stands in it is never changed. A new format adds a folder.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from samelight.decisions.decision import Decision, from_tree, to_tree
from samelight.decisions.state import State, judge
from samelight.drift.policy import Policy, read_policy
from samelight.findings.registry import FINDING_NAMES
from samelight.reports.compare import compared, read_check
from samelight.sequence.saved_views import Show, read_view, view_text
from samelight.sheets import upgrades
from samelight.sheets.errors import SheetError
from samelight.sheets.sequence import read_sequence
from samelight.sheets.sheet import Sheet, read_sheet, sheet_from_document
from samelight.sheets.trees import parse_document, read_document
from samelight.sheets.upgrades import up_to_date, upgraded
from samelight.sheets.values import alike
from samelight.sheets.vocabulary import FORMAT_VERSION

FORMATS = Path(__file__).parent / "data" / "formats"
TODAY = FORMATS / str(FORMAT_VERSION)
EARLIER = [FORMATS / str(version) for version in range(1, FORMAT_VERSION)]

earlier = pytest.mark.parametrize("folder", EARLIER, ids=lambda folder: folder.name)


def sheet(text: str) -> Sheet:
    return sheet_from_document(parse_document(Path("a.yaml"), text))


def decision(path: Path) -> Decision:
    document = read_document(path)
    read = from_tree(document.data, document.faults)
    document.faults.raise_if_any()
    assert read is not None
    return read


def test_every_format_has_a_file_of_each_kind() -> None:
    names = {path.name for path in TODAY.iterdir()}
    assert len(names) == 9
    for folder in EARLIER:
        assert {path.name for path in folder.iterdir()} == names, folder
    steps = (getattr(upgrades, kind) for kind in ("SHEET", "SEQUENCE", "POLICY", "DECISION", "VIEW", "CHECK"))
    assert {len(of_kind) for of_kind in steps} == {FORMAT_VERSION - 1}


@earlier
def test_a_sheet(folder: Path) -> None:
    old, new = (read_sheet(one / "sheet.yaml", shot="HB_040", version=2) for one in (folder, TODAY))
    assert dict(old.typed) == dict(new.typed) and old.sections == new.sections
    assert old == replace(new, path=old.path)
    assert old.value("surfaces", "nets", "assigned_to") == frozenset({"/set/nets"})
    assert old.value("passes", "background", "frames") == "held"


@earlier
def test_a_sequence(folder: Path) -> None:
    old, new = (read_sequence(one) for one in (folder, TODAY))
    assert (old.title, old.cut, old.key_shot) == (new.title, new.cut, new.key_shot)


def of_any_file(policy: Policy) -> Policy:
    return replace(
        policy,
        tolerances=tuple(replace(one, file="") for one in policy.tolerances),
        locks=tuple(replace(one, file="") for one in policy.locks),
        findings=tuple(replace(one, file="") for one in policy.findings),
    )


@earlier
def test_a_policy(folder: Path) -> None:
    old, new = (read_policy(one / "policy.yaml", Policy()) for one in (folder, TODAY))
    assert [one.pattern for one in old.locks] == [
        "lights.*.seen_by",
        "surfaces.nets.reflection_*",
    ]
    assert of_any_file(old) == of_any_file(new)
    assert old.tolerance("surfaces.nets.assigned_to", "set").at_most == 1.0
    assert old.default("passes.background.frames") == "held"


@earlier
@pytest.mark.parametrize("about", ["parameter", "frames", "light", "finding"])
def test_a_decision_holds_on(folder: Path, about: str) -> None:
    old, new = (decision(one / f"decision_{about}.yaml") for one in (folder, TODAY))
    assert old == new and to_tree(old)["samelight_decision"] == FORMAT_VERSION
    assert alike(old.value, new.value) and judge(new.value, new.master, [old]).state is State.INTENDED


@earlier
def test_a_view(folder: Path) -> None:
    old, new = (read_view(one / "view.yaml") for one in (folder, TODAY))
    assert old == new and old.rows is Show.UNDECIDED
    assert f"samelight_view: {FORMAT_VERSION}\n" in view_text(old)


@earlier
def test_a_saved_check(folder: Path) -> None:
    old, new = (read_check(one / "check.json") for one in (folder, TODAY))
    found = compared(old, new)
    assert found.unchanged == 3
    assert not (found.mended or found.new or found.moved or found.decided)


def test_what_earlier_formats_called_findings_and_states_is_there_by_its_new_name() -> None:
    assert set(upgrades.FINDINGS.values()) <= set(FINDING_NAMES)
    assert not set(upgrades.FINDINGS) & set(FINDING_NAMES)
    later = {State.TAKEN_UP, State.MENDED, State.CLOSED}  # that format had none of these
    assert set(upgrades.STATES.values()) | {State.INTENDED} | later == set(State)


def test_a_fault_of_an_earlier_format_names_what_the_file_says() -> None:
    with pytest.raises(SheetError) as caught:
        sheet("samelight: 1\nlights:\n  sun:\n    visible_to:\n      a: 1\nrender:\n  gi: {rays: }\n")
    told = [(fault.path, fault.line) for fault in caught.value.faults]
    assert told == [("lights.sun.visible_to", 4), ("render.gi.rays", 7)]


@pytest.mark.parametrize(
    ("typed", "near"),
    [
        ("lights: {sun: {visible_to: [camera]}}", "seen_by"),
        ("lights: {sun: {links: ['*']}}", "light_links"),
        ("environments: {sky: {links: ['*']}}", "light_links"),
        ("surfaces: {nets: {links: [/set]}}", "assigned_to"),
        ("surfaces: {nets: {shading_rate: 0.4}}", "shade_area"),
        ("surfaces: {nets: {reflection_rays: 4}}", "reflection_samples"),
        ("passes: {crew: {frames: one}}", "held"),
    ],
)
def test_a_name_of_an_earlier_format_in_a_file_of_todays_is_a_fault(typed: str, near: str) -> None:
    with pytest.raises(SheetError) as caught:
        sheet(f"samelight: {FORMAT_VERSION}\n{typed}\n")
    assert [fault.nearest for fault in caught.value.faults] == [near]


def test_nothing_is_lost_where_a_user_had_a_name_that_means_something_now() -> None:
    read = sheet("samelight: 1\nlights: {sun: {visible_to: [camera], seen_by: [ana]}}\n")
    assert read.value("lights", "sun", "seen_by") == frozenset({"camera"})
    assert read.value("lights", "sun", "own_seen_by") == frozenset({"ana"})


def test_a_step_changes_nothing_that_it_was_given() -> None:
    tree: dict[str, Any] = read_document(EARLIER[0] / "sheet.yaml").data
    before = repr(tree)
    new, renamed = upgraded(tree, 1, upgrades.SHEET)
    assert repr(tree) == before and new != tree
    assert renamed["surfaces", "nets", "shade_area"] == ("surfaces", "nets", "shading_rate")


@pytest.mark.parametrize("version", [0, 1.5, True, "1", None, FORMAT_VERSION + 1])
def test_no_other_format_is_read(version: Any) -> None:
    document = parse_document(Path("a.yaml"), "samelight: 1\n")
    with pytest.raises(SheetError, match="format version"):  # noqa: PT012 - either may say it
        up_to_date({"samelight": version}, "samelight", upgrades.SHEET, document.faults)
        document.faults.raise_if_any()

"""What is mended after a change is what would be built anew."""

from __future__ import annotations

import copy
import random
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from samelight.drift import follows
from samelight.drift.follows import Following, following
from samelight.drift.policy import Lock
from samelight.drift.rebuilt import changed_cells, unlike
from samelight.drift.table import Table
from samelight.sequence import references
from samelight.sequence.contents import Contents, SheetStore, read_contents
from samelight.sequence.references import MASTER, Against, Comparison, Reference, compare, compare_again
from samelight.sheets.errors import Faults
from samelight.sheets.resources import sample_sequence
from samelight.sheets.sheet import Sheet, sheet_from_document
from samelight.sheets.trees import Document
from samelight.sheets.values import Level
from thoroughness import examples

SHOTS = tuple(f"A_{number:03d}" for number in range(20))

numbers = st.sampled_from((0.5, 1.0, 1, 2.0, 2.1, 64))
lights = st.fixed_dictionaries(
    {},
    optional={
        "type": st.sampled_from(("distant", "spot")),
        "direction": st.sampled_from(([0, -1, 0], [1, -1, 0], [1, 0, 0])),
        "intensity": numbers,
        "samples": st.sampled_from((1, 64)),
        "visible": st.booleans(),
        "odd": st.sampled_from(("a", 1, True)) | numbers,
    },
)
setups = st.fixed_dictionaries(
    {
        "lights": st.dictionaries(st.sampled_from(("sun", "fill", "rim")), lights, max_size=3),
        "render": st.dictionaries(
            st.sampled_from(("gi", "volume")), st.dictionaries(st.just("rays"), numbers)
        ),
    },
    optional={
        "marks": st.just({"face": {"position": [0.0, 1.6, 0.0]}})
        | st.just({"face": {"position": [0.0, 1.6, 0.0]}, "bow": {"position": [2.0, 0.5, 1.0]}}),
        "camera": st.just({"position": [0, 1, 5], "direction": [0, 0, -1]})
        | st.just({"position": [0, 1, 5], "odd": 1}),
        "cost": st.dictionaries(st.just("test_frame"), numbers),
        "environments": st.just({"sky": {"intensity": 1, "seen_by": ["camera"]}}),
    },
)


@st.composite
def nudged(draw: st.DrawFn, tree: Mapping[str, Any]) -> dict[str, Any]:
    """The same lights and settings with some numbers changed, as most changes are."""
    made = copy.deepcopy(dict(tree))
    for groups in (made["lights"], made["render"]):
        for group in groups.values():
            for name in set(group) & {"intensity", "samples", "rays"}:
                group[name] = draw(st.sampled_from((group[name], 0.5, 2.0, 64)))
    return made


def sheet(shot: str, tree: Mapping[str, Any]) -> Sheet:
    path = Path(f"{shot or 'master'}.yaml")
    faults = Faults(path, lambda place: None)
    return sheet_from_document(Document(path, {"samelight": 2, **tree}, faults), shot=shot)


def as_said(table: Table) -> list[object]:
    return [
        table.shots,
        table.rows,
        repr([table.line(row) for row in range(len(table.rows))]),
        np.asarray(table.severity).tolist(),
        table.grade.tolist(),
    ]


def assert_same(mended: Comparison, anew: Comparison) -> None:
    assert as_said(mended.table) == as_said(anew.table)
    np.testing.assert_array_equal(mended.table.drift, anew.table.drift)
    assert (mended.reference, mended.sheets, mended.reference_sheets) == (
        anew.reference,
        anew.sheets,
        anew.reference_sheets,
    )


@settings(suppress_health_check=[HealthCheck.too_slow], max_examples=examples(90))
@given(st.data())
def test_changed_sheets(data: st.DataObject) -> None:
    master_tree = data.draw(setups)
    kinds = [master_tree, data.draw(setups), data.draw(setups)]
    trees = {shot: data.draw(st.sampled_from(kinds)) for shot in SHOTS}
    was = contents_of(master_tree, trees)
    shot = data.draw(st.sampled_from(SHOTS))
    new = data.draw(st.sampled_from(kinds) | setups | nudged(trees[shot]))
    sheets = {**was.sheets, shot: sheet(shot, new)}
    now = replace(was, sheets=sheets)
    reference = data.draw(
        st.sampled_from((MASTER, Reference(Against.SHOT, shot=SHOTS[3]), Reference(Against.BEFORE)))
    )
    before, anew = compare(was, reference), compare(now, reference)
    mended = compare_again(before, was, now)
    assert_same(mended, anew)
    assert_follows_alike(following(mended.table, following(before.table)), following(anew.table))
    found = unlike(before.table, mended.table)
    if found is not None:
        others = set(np.flatnonzero(before.table.grade != mended.table.grade).tolist())
        assert others <= set(found.tolist())


def assert_follows_alike(one: Following, other: Following) -> None:
    for name in ("mask", "case", "weight", "drifting"):
        np.testing.assert_array_equal(getattr(one, name), getattr(other, name), err_msg=name)


def test_of_what_follows_only_the_shots_that_changed_are_gone_through(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    shot, now = "HB_110", compare(SAMPLE)
    whole = SAMPLE.sheets[shot]
    lights = {**whole.sections["lights"]}
    lights["rim"] = {**lights["rim"], "level": Level(9.0)}
    changed = replace(whole, sections={**whole.sections, "lights": lights})
    mended = compare_again(now, SAMPLE, replace(SAMPLE, sheets={**SAMPLE.sheets, shot: changed}))
    whole_follows, anew = following(now.table), following(mended.table)
    gone_through: list[int] = []
    worked_out = follows._followed  # noqa: SLF001 - what it is given is what costs

    def noting(grade: NDArray[np.uint8], feeds: Sequence[follows.Feed]) -> object:
        gone_through.append(grade.shape[1])
        return worked_out(grade, feeds)

    monkeypatch.setattr(follows, "_followed", noting)
    assert_follows_alike(following(mended.table, whole_follows), anew)
    assert gone_through == [1]


@settings(suppress_health_check=[HealthCheck.too_slow], max_examples=examples(40))
@given(setups, setups, st.sampled_from((0.0, 0.3, 5.0, 1e9)), st.booleans())
def test_changed_tolerances(master: Any, other: Any, at_most: float, is_locked: bool) -> None:
    was = contents_of(master, {shot: other if number % 3 else master for number, shot in enumerate(SHOTS)})
    pattern = "lights.*"
    policy = replace(
        was.policy,
        tolerances=(
            *was.policy.tolerances,
            replace(was.policy.tolerances[0], pattern=pattern, at_most=at_most),
        ),
        locks=(Lock(pattern, "the sun stays", ""),) if is_locked else (),
    )
    now = replace(was, policy=policy)
    assert_same(compare_again(compare(was), was, now), compare(now))


SAMPLE = read_contents(SheetStore(sample_sequence("harbour")))


def contents_of(master: Mapping[str, Any], trees: Mapping[str, Any]) -> Contents:
    return replace(
        SAMPLE,
        sequence=replace(SAMPLE.sequence, key_shot=None),
        shots=SHOTS,
        masters={1: sheet("", master)},
        master_version=1,
        sheets={shot: sheet(shot, tree) for shot, tree in trees.items()},
    )


def test_a_changed_value_builds_its_own_column_and_the_next(monkeypatch: pytest.MonkeyPatch) -> None:
    """In the sequence that is the program's own sample, each shot compared with the one before."""
    reference, shot = Reference(Against.BEFORE), "HB_110"
    before, whole = compare(SAMPLE, reference), SAMPLE.sheets[shot]
    lights = {**whole.sections["lights"]}
    lights["rim"] = {**lights["rim"], "level": Level(9.0)}
    changed = replace(whole, sections={**whole.sections, "lights": lights})
    now = replace(SAMPLE, sheets={**SAMPLE.sheets, shot: changed})
    anew = compare(now, reference)
    monkeypatch.setattr(references, "compare", lambda *_: pytest.fail("all were compared"))
    mended = compare_again(before, SAMPLE, now)
    assert_same(mended, anew)
    cells = changed_cells(before.table, mended.table)
    assert {name for name, _ in cells} == {"HB_110", "HB_120"}


def test_a_changed_value_of_a_few_shots_with_measured_frames_builds_its_own_column(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    landing = read_contents(SheetStore(sample_sequence("landing")))
    before, whole = compare(landing), landing.sheets["LA_040"]
    lights = {**whole.sections["lights"]}
    name = next(iter(lights))
    lights[name] = {**lights[name], "level": Level(9.0)}
    changed = replace(whole, sections={**whole.sections, "lights": lights})
    now = replace(landing, sheets={**landing.sheets, "LA_040": changed})
    anew = compare(now)
    monkeypatch.setattr(references, "compare", lambda *_: pytest.fail("all were compared"))
    mended = compare_again(before, landing, now)
    assert_same(mended, anew)
    assert {shot for shot, _ in changed_cells(before.table, mended.table)} == {"LA_040"}


def changed_somewhere(of: Sheet, chance: random.Random) -> Sheet:
    """A sheet with a value or two changed, now and then one or a whole group taken out."""
    sections = {name: dict(groups) for name, groups in of.sections.items()}
    for _ in range(chance.choice((1, 1, 2))):
        section = chance.choice([name for name, groups in sections.items() if groups])
        name = chance.choice(list(sections[section]))
        group = dict(sections[section][name])
        leaf = chance.choice(list(group))
        match group[leaf]:
            case Level(value, quantity):
                group[leaf] = Level(value * chance.choice((0, 0.01, 0.5, 1.05, 64)), quantity)
            case bool(value):
                group[leaf] = not value
            case float(value):
                group[leaf] = value * chance.choice((0, 0.5, 1.01, -1))
            case tuple(value):
                group[leaf] = tuple(number + chance.choice((0, 0.1, -0.4)) for number in value)
        if chance.random() < 0.1:
            del group[leaf]
        sections[section][name] = group
        if not group or chance.random() < 0.05:
            del sections[section][name]
    return replace(of, sections=sections)


@pytest.mark.parametrize(
    ("reference", "changes"),
    [(MASTER, 12), (Reference(Against.BEFORE), 12), (Reference(Against.SHOT, shot="HB_040"), 6)],
    ids=["the master", "the shot before", "a shot"],
)
def test_one_change_after_the_other_of_shots_with_marks(
    reference: Reference, changes: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is computed is there to the last digit, and listed as long as any shot has a graded figure of it."""
    chance, whole = random.Random(7), list[object]()

    def noting(*asked: Any) -> Any:
        whole.append(asked)
        return compare(*asked)

    monkeypatch.setattr(references, "compare", noting)
    was, mended = SAMPLE, compare(SAMPLE, reference)
    for _ in range(changes):
        shot = chance.choice(SAMPLE.shots)
        now = replace(was, sheets={**was.sheets, shot: changed_somewhere(was.sheets[shot], chance)})
        mended = compare_again(mended, was, now)
        assert_same(mended, compare(now, reference))
        was = now
    assert len(whole) < changes, "all shots were compared every time"

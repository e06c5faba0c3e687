"""Groups of many sheets folded together come to what each comes to by itself, to the last bit."""

from __future__ import annotations

import copy
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from samelight.sheets.canonical import canonical, fold_group
from samelight.sheets.conventions import Conventions
from samelight.sheets.memo import refusal
from samelight.sheets.quantities import Reader
from samelight.sheets.together import FEWEST, fold_ahead, fold_together
from samelight.sheets.writing import yaml_text
from sheets.test_sheet_memo import CONVENTIONS, DRIFTED, KINDS, LIGHT, outcome, read_plainly
from thoroughness import examples

NUMBER = st.one_of(st.integers(1, 400), st.floats(0.01, 400.0), st.sampled_from([1, 1.0, 0.1 + 0.2, 2 / 3]))
VECTOR = st.lists(NUMBER, min_size=3, max_size=3)
SOUND: dict[str, st.SearchStrategy[Any]] = {
    "azimuth": NUMBER,
    "elevation": st.floats(-90.0, 90.0),
    "position": VECTOR,
    "intensity": st.one_of(NUMBER, st.just(0)),
    "exposure": st.one_of(st.integers(-3, 9), st.floats(-3.0, 9.0)),
    "color": VECTOR,
    "temperature": st.integers(500, 20_000),
    "width": st.one_of(NUMBER, st.sampled_from([-1, "2 m", 0])),
    "samples": NUMBER,
    "light_links": st.sampled_from([["/set/quay"], "*"]),
    "shadow": st.fixed_dictionaries({"enable": st.booleans(), "color": VECTOR, "distance": NUMBER}),
    "mood": st.one_of(NUMBER, st.just("grey"), VECTOR),
}
"""What a light's parameters may be, of which each is sound by itself."""
STATED: dict[str, Any] = {
    "roll": 12.5,
    "axis": [0, 1, 0],
    "radius": 0.5,
    "cone": 40,
    "diffuse": 0.5,
    "texture": "gobo.exr",
    "sha256": "0A",
    "treat_as_point": True,
    "level": 3,
    "tint.color": [1, 0.5, 0.25],
}
"""What all lights of a film may state as well."""
SHAPES = ("rect", "distant", "spot", "cylinder", "sphere", "point")
FILMS = st.lists(st.fixed_dictionaries({}, optional=SOUND), min_size=FEWEST, max_size=FEWEST + 4)


def forget() -> None:
    """Nothing was met yet."""
    for sound in fold_group.met.values():
        sound.clear()


def sheets_of(lights: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return [{"samelight": 2, "lights": {"key": light}, "render": {"gi": {"samples": 3}}} for light in lights]


@settings(max_examples=examples(40))
@given(
    FILMS, st.sampled_from(SHAPES), st.booleans(), st.sets(st.sampled_from(sorted(STATED))), st.integers(0, 3)
)
def test_what_many_lights_come_to_is_what_each_does(
    film: list[dict[str, Any]], shape: str, normalize: bool, stated: set[str], way: int
) -> None:
    more = {name: STATED[name] for name in sorted(stated)}
    alike = {**LIGHT, "type": shape, "normalize": normalize, **more}
    trees = sheets_of([{**copy.deepcopy(alike), **drifted} for drifted in film])
    forget()
    fold_together(trees, CONVENTIONS[way % 2], KINDS[way // 2 % 2])
    found = [outcome(tree, way) for tree in trees]
    with read_plainly():
        assert found == [outcome(tree, way) for tree in trees]


@pytest.mark.parametrize("name", DRIFTED)
def test_one_odd_light_is_left_to_its_own_reading(name: str) -> None:
    for odd in DRIFTED[name]:
        trees = sheets_of([{**LIGHT, "samples": 10 + place} for place in range(FEWEST)])
        trees[3]["lights"]["key"][name] = odd
        forget()
        fold_together(trees, CONVENTIONS[0], ())
        found = [outcome(tree) for tree in trees]
        with read_plainly():
            assert found == [outcome(tree) for tree in trees]


def test_sheets_that_are_read_find_their_groups_folded(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    lights = [{**LIGHT, "azimuth": 10.0 + place, "exposure": place, "diffuse": place} for place in range(9)]
    files = [tmp_path / f"{place}.yaml" for place in range(9)]
    trees = [{**tree, "render": {"gi": {"samples": place}}} for place, tree in enumerate(sheets_of(lights))]
    for file, tree in zip(files, trees, strict=True):
        file.write_text(yaml_text(tree), encoding="utf-8")
    with read_plainly():
        plain = [outcome(tree) for tree in trees]
    forget()
    fold_ahead([*files, tmp_path / "missing.yaml", tmp_path], Conventions(), ())

    def again(*of: object) -> None:
        raise AssertionError(of)

    monkeypatch.setattr(fold_group.under(Conventions()), "_reading", again)
    read = Reader(Conventions(), refusal())
    assert [repr(canonical(tree, read)) for tree in trees] == plain


@pytest.mark.parametrize(
    ("kind", "stated"),
    [
        ("radius colour", {"type": "sphere", "radius": [0, 0, 0]}),
        ("type number", {"type": 5}),
        ("axis colour", {"type": "cylinder", "axis": [0, 0, 0]}),
    ],
)
def test_a_policy_may_give_a_size_a_type_or_an_axis_any_kind(kind: str, stated: dict[str, Any]) -> None:
    name, _, of = kind.partition(" ")
    kinds, read = ((f"lights.*.{name}", of),), Reader(Conventions(), refusal())
    turns = [{"rotation": [10, 20, 3 * place], "intensity": 1 + place} for place in range(FEWEST)]
    trees = sheets_of([{**stated, **turn} for turn in turns])
    forget()
    fold_together(trees, Conventions(), kinds)
    found = [repr(canonical(tree, read, kinds)) for tree in trees]
    with read_plainly():
        assert found == [repr(canonical(tree, read, kinds)) for tree in trees]

"""Lights that are absent because a scene switches them off."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from findings.drafts import FEW, draft, only


@FEW
@given(st.lists(st.sampled_from(["bounce", "lamp", "rim"]), min_size=1, unique=True), st.booleans())
def test_what_is_gone_is_told_with_what_switched_it_off_and_nothing_else(
    gone: list[str], by_variant: bool
) -> None:
    made = draft(4)
    for shot, tree in made.shots.items():
        tree["source"] = {"variants": {"/set": {"lamps": "on"}}}
        if shot != "S_020":
            continue
        for name in gone:
            del tree["lights"][name]
        if by_variant:
            tree["source"] = {"variants": {"/set": {"lamps": "off"}}}
        else:
            tree["source"]["inactive"] = {
                f"/set/{name}": {"prim": "/set", "layer": "S_020.usda"} for name in gone
            }
    finding = only(made.findings(), "switched-off")
    assert finding.shots == ("S_020",)
    assert set(finding.parameters) == {f"lights.{name}" for name in gone}
    cause = (
        "variant set lamps of /set stands at off, not at on"
        if by_variant
        else "/set is inactive by S_020.usda"
    )
    assert cause in finding.says


@given(st.sampled_from(["fill_2", "amp", "set"]))
def test_another_light_that_is_off_explains_nothing(other: str) -> None:
    made = draft(4)
    tree = made.shots["S_020"]
    del tree["lights"]["lamp"]
    tree["source"] = {
        "inactive": {f"/set/{other}": {"prim": "/set", "layer": "S_020.usda"}},
        "variants": {"/set": {"lamps": "off"}},
    }
    # No other shot says what is selected there, so that there is no telling what it should be.
    assert made.findings("switched-off") == []


def test_a_light_that_is_inactive_and_made_again_is_one_thing() -> None:
    made = draft(4)
    tree = made.shots["S_020"]
    tree["source"] = {"inactive": {"/set/lamp": {"prim": "/set/lamp", "layer": "S_020.usda"}}}
    tree["lights"]["lamp_here"] = {**tree["lights"].pop("lamp"), "intensity": 0.4}
    (finding,) = made.findings()
    assert finding.finding == "renamed"
    assert "lamp is off in S_020, and lamp_here stands in its place" in finding.says

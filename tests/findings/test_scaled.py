"""Lights, and whole rigs, whose transforms were scaled."""

from __future__ import annotations

import pytest

from findings.drafts import Tree, draft, only


def larger(light: Tree, factor: float, about: tuple[float, float, float] | None = None) -> None:
    """All sizes of a light by one factor; its place too, where it is scaled about a point."""
    for name in ("width", "height", "radius"):
        if name in light:
            number, _, unit = str(light[name]).partition(" ")
            light[name] = round(float(number) * factor * (0.01 if unit == "cm" else 1.0), 6)
    for name in ("position", "target"):
        if about is not None and name in light:
            light[name] = [c + factor * (x - c) for x, c in zip(light[name], about, strict=True)]


@pytest.mark.parametrize(
    ("normalize", "says"),
    [
        (True, "Window_fill is 1.5 times as large in S_020 and S_040, all ways alike."),
        (False, "Window_fill is 1.5 times as large in S_020 and S_040, all ways alike; it gives 1.17 stops more, since its size counts."),
    ],
)  # fmt: skip
def test_a_light_that_was_scaled_says_what_that_gives(normalize: bool, says: str) -> None:
    made = draft(6)
    for tree in (made.master, *made.shots.values()):
        tree["lights"]["window_fill"]["normalize"] = normalize
    for shot in ("S_020", "S_040"):
        larger(made.shots[shot]["lights"]["window_fill"], 1.5)
    (finding,) = made.findings()
    assert (finding.finding, finding.says.lower()) == ("scaled", says.lower())


@pytest.mark.parametrize("about", [(0.0, 0.0, 0.0), (2.0, 0.5, -1.0)])
def test_a_rig_that_was_scaled_about_a_point_is_one_finding(about: tuple[float, float, float]) -> None:
    made = draft(4)
    for name, light in made.shots["S_020"]["lights"].items():
        if name != "sun":
            larger(light, 1.2, about)
    finding = only(made.findings(), "scaled")
    assert finding.says == "The rig is scaled by 1.2 as one in S_020: 5 lights and the places between them."
    assert not [one for one in made.findings() if one.finding == "unexplained"]


def test_one_side_alone_is_not_scaled() -> None:
    made = draft(4)
    made.shots["S_020"]["lights"]["window_fill"]["width"] *= 1.5
    made.shots["S_030"]["lights"]["rim"]["radius"] *= 1.5
    assert made.findings("scaled") == []


def test_lights_that_were_scaled_beside_others_are_not_the_rig() -> None:
    made = draft(4)
    for name in ("bounce", "window_fill"):
        larger(made.shots["S_020"]["lights"][name], 1.2, (0.0, 0.0, 0.0))
    (finding,) = made.findings()
    assert finding.says == (
        "The bounce and window_fill are scaled by 1.2 as one in S_020, and the places between them."
    )

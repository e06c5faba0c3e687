"""Units, digits and values in what findings say: as people say them, and as a lighter types them."""

from __future__ import annotations

import copy
import math
from pathlib import Path
from typing import Any

import pytest

from findings.drafts import draft, only
from findings.planted.worlds import world
from samelight.drift.readings import amount
from samelight.findings.courses import course_text
from samelight.findings.finding import Finding, Sureness
from samelight.sequence.session import open_session
from samelight.sheets.values import Curve
from samelight.sheets.vocabulary import ANGLE, LEVEL


def found(light: str, change: dict[str, Any], name: str) -> Finding:
    """The one finding of a name where a light is changed in one shot; None takes a parameter away."""
    made = draft(4)
    group = made.shots["S_020"]["lights"][light]
    group.update(change)
    made.shots["S_020"]["lights"][light] = {key: value for key, value in group.items() if value is not None}
    return only(made.findings(), name)


@pytest.mark.parametrize(
    ("light", "change", "name", "says", "do"),
    [
        (
            "lamp",
            {"intensity": {"keys": [[1001, 0.3], [1024, 0]]}},
            "unexplained",
            "The lamp's level fades from 0.3 to 0 between 1001 and 1024 (the master's stays at 0.3) in S_020",
            "Say that it is meant",
        ),
        ("lamp", {"temperature": None}, "input-slip", "has lost its temperature", "temperature 2200 K."),
        ("lamp", {"color": [2.31, 0.7, 0.07]}, "input-slip", "is tinted twice in S_020: its colour is that of 2200 K", "color not set."),
        ("window_fill", {"exposure": -1}, "input-slip", "2 stops darker in S_020: the exposure is −1 for +1", "exposure +1."),
        ("window_fill", {"exposure": None}, "input-slip", "1 stop darker in S_020: the exposure of +1", "exposure +1."),
        ("lamp", {"normalize": False}, "input-slip", "normalize is off", "as the master has it: normalize on."),
        ("window_fill", {"exposure": 0.3, "normalize": False}, "unexplained", "stops darker", "Say that it is meant"),
        ("window_fill", {"intensity": 3.4558}, "unit-slip", "(intensity 3.4558 for 1.1)", "intensity 1.1."),
    ],
)  # fmt: skip
def test_values_are_said_as_they_are_typed(
    light: str, change: dict[str, Any], name: str, says: str, do: str
) -> None:
    finding = found(light, change, name)
    assert says in finding.says
    assert do in finding.do


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"intensity": 6, "exposure": 0}, "the exposure of +2 stops became a factor of 2"),
        ({"intensity": 6, "exposure": None}, "the exposure of +2 stops became a factor of 2"),
        ({"exposure": 4}, "the exposure is +4 for +2: a factor typed where stops are read"),
        ({"intensity": 12}, "the exposure of +2 counts twice, since the intensity was multiplied by it too"),
        ({"intensity": 2, "exposure": 3}, "intensity and exposure have changed places (3 and +2 in the master)"),
        ({"intensity": 6}, ""),
        ({"exposure": 3.9}, ""),
        ({"exposure": 20}, "the exposure is +20 for +2: its decimal point is out of place"),
        ({"intensity": 6.2, "exposure": 0}, ""),
        ({"intensity": {"keys": [[1001, 12], [1024, 12.1]]}}, ""),
    ],
)  # fmt: skip
def test_an_exposure_that_was_taken_for_a_factor_is_told(change: dict[str, Any], says: str) -> None:
    made = draft(4)
    for tree in (made.master, *made.shots.values()):
        tree["lights"]["bounce"].update(intensity=3, exposure=2)
    light = made.shots["S_020"]["lights"]["bounce"]
    light.update(change)
    made.shots["S_020"]["lights"]["bounce"] = {
        key: value for key, value in light.items() if value is not None
    }
    found = made.findings("input-slip")
    assert [one.says.partition(": ")[2].partition(";")[0].rstrip(".") for one in found] == (
        [says] if says else []
    )


@pytest.mark.parametrize(
    ("exposure", "change", "sureness"),
    [
        (2, {"exposure": 4}, Sureness.POSSIBLE),
        (2, {"intensity": 12}, Sureness.POSSIBLE),
        (1.3, {"exposure": 2.4623}, Sureness.LIKELY),
        (1.3, {"intensity": 7.3868}, Sureness.LIKELY),
        (2, {"exposure": -2}, Sureness.LIKELY),
        (0.5, {"exposure": 5}, Sureness.LIKELY),
        (0.5, {"exposure": 0.05}, Sureness.POSSIBLE),
    ],
)
def test_a_slip_of_whole_stops_may_be_meant(
    exposure: float, change: dict[str, Any], sureness: Sureness
) -> None:
    made = draft(4)
    for tree in (made.master, *made.shots.values()):
        tree["lights"]["bounce"].update(intensity=3, exposure=exposure)
    made.shots["S_020"]["lights"]["bounce"].update(change)
    assert only(made.findings(), "input-slip").sureness is sureness


def test_a_doubling_is_no_exposure_of_a_stop_that_counts_twice() -> None:
    made = draft(4)
    made.shots["S_020"]["lights"]["window_fill"]["intensity"] = 2.2  # whose exposure is +1
    assert made.findings("input-slip") == []


@pytest.mark.parametrize(
    ("light", "change", "says"),
    [
        ("lamp", {"temperature": None, "color": [1, 0.4, 0.1]}, "a colour of 1, 0.4, 0.1 stands in the place of 2200 K"),
        ("bounce", {"temperature": "3400 K"}, "The bounce has a temperature in S_020: it has one of 3400 K, and the master a colour alone."),
    ],
)  # fmt: skip
def test_a_temperature_in_the_place_of_a_colour_or_a_colour_in_its_place(
    light: str, change: dict[str, Any], says: str
) -> None:
    finding = found(light, change, "input-slip")
    assert says in finding.says
    assert {name.rpartition(".")[2] for name in finding.parameters} <= {"colour", "level"}


def test_the_colour_of_another_light_is_no_lost_temperature() -> None:
    made = draft(4)
    light = made.shots["S_020"]["lights"]["lamp"]
    del light["temperature"]
    light["color"] = made.master["lights"]["bounce"]["color"]
    assert made.findings("input-slip") == []


def test_a_sign_is_no_letter_that_starts_a_sentence() -> None:
    assert found("window_fill", {"intensity": 3.4558}, "unit-slip").guessed.startswith("π (3.14, pi)")


def test_a_switch_of_normalize_is_known_in_a_sheet_that_counts_in_centimetres() -> None:
    made = draft(4)
    for tree in (made.master, *made.shots.values()):
        tree["units"] = {"length": "cm"}
    made.shots["S_020"]["lights"]["lamp"]["normalize"] = False
    finding = only(made.findings(), "input-slip")
    assert finding.shots == ("S_020",)
    assert f"{math.log2(4 * math.pi * 3**2):.2f} stops brighter" in finding.says


def test_two_copies_of_a_sky_that_do_not_add_up_are_no_sky_renamed() -> None:
    made = draft(4)
    skies = made.shots["S_020"]["environments"]
    sky = skies.pop("dawn_sky")
    skies["dawn_sky_camera"] = {**sky, "seen_by": ["camera"]}
    skies["dawn_sky_rest"] = {**copy.deepcopy(sky), "seen_by": ["indirect", "reflection"], "intensity": 1.6}
    names = {finding.finding for finding in made.findings()}
    assert "unequal-copies" in names
    assert "renamed" not in names


def test_sun_and_sky_are_said_by_the_angle_that_their_cell_has() -> None:
    made = draft(4)
    made.shots["S_020"]["lights"]["sun"]["azimuth"] = 143
    says = only(made.findings(), "sun-sky").says
    assert says.startswith("Seen from above, the sun and dawn_sky are turned 12° against each other in S_020")


FADES = ((1001, 4.0), (1010, 4.0), (1024, 0.0), (1080, 0.0))


@pytest.mark.parametrize(
    ("curve", "kind", "text"),
    [
        (Curve(FADES), LEVEL, "fades from 4 to 0 between 1010 and 1024"),
        (Curve(FADES), ANGLE, "falls from 4 to 0 between 1010 and 1024"),
        (Curve(((1, 0.0), (5, 2.0), (9, 3.0))), LEVEL, "rises from 0 to 3 between 1 and 9"),
        (Curve(((1, 2.0), (5, 1.0), (9, 3.0))), LEVEL, "goes up and down from 1 to 3 between 1 and 9"),
        (Curve(((1, 2.0), (5, 1.0)), "held"), LEVEL, "goes from 2 to 1 at frame 5"),
        (Curve(((1, "a"), (5, "b"), (8, "c"))), "text", "goes from a to c between 1 and 8"),
        (Curve(((1, 2.0), (5, 2.0))), LEVEL, "stays at 2"),
        (Curve(((7, 2.0),)), LEVEL, "stays at 2"),
        (2.0, LEVEL, "stays at 2"),
    ],
)  # fmt: skip
def test_a_curve_is_told_in_words(curve: Any, kind: str, text: str) -> None:
    assert (
        course_text(curve, kind, lambda value: f"{amount(value):g}" if value != str(value) else value) == text
    )


def test_what_lights_of_other_names_give_a_mark_counts_in_what_a_finding_does_to_it(tmp_path: Path) -> None:
    """A light that only one shot has has no row of its own at a mark: its share is what the sum has over the others."""
    made = world(1)
    renamed, doubled = list(made.shots)[1:3]
    made.shots[renamed]["lights"] = {
        f"rig_{name}": one for name, one in made.shots[renamed]["lights"].items()
    }
    lights = made.shots[doubled]["lights"]
    lights["key_1"] = copy.deepcopy(lights["key"])
    findings = open_session(made.write(tmp_path / "sequence")).cases.findings
    assert only(findings, "renamed").harm is None
    harm = only(findings, "duplicate").harm
    assert harm is not None
    assert harm.stops > 0.05


def test_names_alone_stand_behind_a_broken_lock() -> None:
    """All lights are there under other names, the locked sun too; in another shot the sky is turned, which shows."""
    made = draft(5)
    lights = made.shots["S_020"]["lights"]
    made.shots["S_020"]["lights"] = {f"rig_{name}": one for name, one in lights.items()}
    made.shots["S_040"]["environments"]["dawn_sky"]["rotation"] = 220
    names = [finding.finding for finding in made.findings()]
    assert set(names) == {"renamed", "axis-slip", "sun-sky"}
    assert names.index("axis-slip") < names.index("renamed")


def test_a_level_of_several_inputs_is_told_by_them() -> None:
    finding = found("window_fill", {"exposure": 0.3, "normalize": False}, "unexplained")
    assert finding.known.endswith("Typed there: exposure +0.3 for +1 and normalize off for on.")


def test_intensity_and_an_exposure_of_a_stop_that_changed_places_are_told() -> None:
    made = draft(4)
    for tree in (made.master, *made.shots.values()):
        tree["lights"]["rim"].update(intensity=3, exposure=1)
    made.shots["S_020"]["lights"]["rim"].update(intensity=1, exposure=3)
    assert "intensity and exposure have changed places" in only(made.findings(), "input-slip").says


def test_intensity_and_exposure_of_two_lights_may_change_places_as_one() -> None:
    made = draft(4)
    for tree in (made.master, *made.shots.values()):
        tree["lights"]["rim"].update(intensity=1.6, exposure=1)
        tree["lights"]["bounce"].update(intensity=3, exposure=0.5)
    made.shots["S_020"]["lights"]["rim"].update(intensity=3, exposure=0.5)
    made.shots["S_020"]["lights"]["bounce"].update(intensity=1.6, exposure=1)
    (finding,) = made.findings()
    assert finding.says == "The bounce and the rim have exchanged their level in S_020."


def test_a_key_that_is_gone_comes_from_nowhere() -> None:
    made = draft(2)
    made.derived = None
    for tree in (made.master, *made.shots.values()):
        tree["key_shot"] = "S_010"
    made.shots["S_020"]["lights"].clear()
    (finding,) = made.findings("several-lights")
    assert "; the face goes" in finding.says and "key" not in finding.says


def test_an_animated_temperature_is_told_by_its_colours_alone() -> None:
    made = draft(2)
    made.shots["S_020"]["lights"]["rim"]["temperature"] = {"keys": [[1, 3000], [5, 4000]]}
    (finding,) = made.findings("unexplained")
    assert "between 1 and 5" in finding.says and "keys" not in finding.says

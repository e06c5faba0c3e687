"""The colours of drift as eyes with and without a deficiency of colour vision tell them apart.

The visions and their sources stand in tests/colour_help.py. The distances asked for are our choice, each with its reason.
"""

from __future__ import annotations

import csv
import itertools
import math
from pathlib import Path

import numpy as np
import pytest

from colour_help import (
    CONES,
    DICHROMATS,
    VISIONS,
    apart,
    ciede2000,
    encoded,
    lightness,
    linear,
    seen,
)
from samelight.decisions.state import State
from samelight.drift.cells import Grade
from samelight.drift.scale import FULL_SCALE, Rgb, rgb
from samelight.gui.paint import line_styles, shades
from samelight.gui.state.cell_states import STATES
from samelight.reports.html_heat import colour_steps, step_of

SHARMA = Path(__file__).parents[3].parent / "shared" / "data" / "ciede2000_sharma.csv"

APART = 8.0
"""CIEDE2000 between any two levels, in every vision. Our choice: about 1 is just told apart where large patches touch
(common practice, no source), and cells are small, lie apart and are read in passing."""

LIGHTER = 5.0
"""Steps of L* from a level to the next, in every vision. Our choice: a column of one pixel is seen by its lightness, since
hue goes first in a small field (small-field tritanopia: E. N. Willmer, W. D. Wright, Nature 156:119, 1945, from memory)."""

LEGEND = (1.001, 3.0, 10.0, FULL_SCALE)
"""Drift over tolerance at the steps that the legend names; what is just over the tolerance is the first."""


def drawn(severity: float, grade: Grade, state: State = State.UNDECIDED) -> Rgb:
    """The colour of a cell in the overview and in columns too narrow for a mark."""
    codes = shades.cell_codes(
        np.array([[severity]]),
        np.array([[grade]], dtype=np.uint8),
        np.array([[STATES.index(state)]], dtype=np.uint8),
    )
    return shades.rgb(int(codes[0, 0]))


LEVELS: dict[str, Rgb] = {
    "same": drawn(0.0, Grade.SAME),
    "within": drawn(0.5, Grade.WITHIN),
    "intended": drawn(3.0, Grade.DRIFT, State.INTENDED),
    **{f"drift {severity:g}×": drawn(severity, Grade.DRIFT) for severity in LEGEND},
}
"""Every level that a colour shows, from what is quietest to what is seen first."""


@pytest.mark.parametrize("vision", VISIONS)
def test_any_two_levels_are_told_apart(vision: str) -> None:
    for (one, first), (two, second) in itertools.combinations(LEVELS.items(), 2):
        assert apart(first, second, vision) >= APART, (one, two)


@pytest.mark.parametrize("vision", VISIONS)
def test_every_level_is_lighter_than_the_one_before(vision: str) -> None:
    lights = [float(seen(colour, vision)[0]) for colour in LEVELS.values()]
    for (one, two), (before, after) in zip(
        itertools.pairwise(LEVELS), itertools.pairwise(lights), strict=True
    ):
        assert after - before >= LIGHTER, (one, two)


@pytest.mark.parametrize("vision", VISIONS)
def test_the_tolerance_is_a_step_wherever_a_drift_lies_beside_it(vision: str) -> None:
    """The most that is within against the least that is not; what was intended against all that is open."""
    most, least = drawn(1.0, Grade.WITHIN), drawn(1.001, Grade.DRIFT)
    assert apart(most, least, vision) >= 2 * APART
    assert seen(least, vision)[0] - seen(most, vision)[0] >= 2 * LIGHTER
    for severity in np.geomspace(1.001, 60.0, 40).tolist():
        assert apart(LEVELS["intended"], rgb(severity), vision) >= 2 * APART
    for severity in (1e-3, 0.1, 1.0):
        assert apart(LEVELS["same"], rgb(severity), vision) >= APART
        assert apart(LEVELS["intended"], rgb(severity), vision) >= APART


@pytest.mark.parametrize("vision", VISIONS)
def test_more_drift_is_never_darker(vision: str) -> None:
    severities = [*np.linspace(0.001, 1.0, 26).tolist(), *np.geomspace(1.001, FULL_SCALE, 80).tolist()]
    lights = [float(seen(rgb(severity), vision)[0]) for severity in severities]
    # Half a step of L* is what rounding to 8 bits moves a simulated colour by.
    assert all(after >= before - 0.5 for before, after in itertools.pairwise(lights))


def test_what_has_no_drift_is_neutral_and_quiet() -> None:
    """The surround and all that nobody has to look at is R = G = B. Nothing at all is told from the master's value
    by the whole-light cell (absent, extra), so that the greys themselves need no more than to be seen as two."""
    greys = [shades.rgb(code) for code in (shades.EMPTY, shades.SAME_IN_GROUP, shades.SAME, shades.INTENDED)]
    assert all(red == green == blue for red, green, blue in greys)
    lights = [lightness(grey) for grey in greys]
    assert lights == sorted(lights)
    assert lights[2] - lights[0] >= LIGHTER
    assert rgb(0.0) == LEVELS["same"]


def test_what_nobody_has_settled_keeps_the_colour_of_its_drift() -> None:
    for state in (State.UNDECIDED, State.ASKS_AGAIN, State.SENT_BACK, State.TWO_OPINIONS):
        for grade in (Grade.DRIFT, Grade.BREAK):
            assert drawn(4.0, grade, state) == rgb(4.0)
    # What is absent or extra has no tolerance to be over.
    assert drawn(math.inf, Grade.BREAK) == rgb(FULL_SCALE)


def test_equal_factors_are_equal_steps() -> None:
    """Perceptually even in normal vision: of eight equal steps of the logarithm the widest is at most 1.3 times the
    narrowest. Our choice: no step stands out as an edge that the drift has not."""
    colours = [rgb(severity) for severity in np.geomspace(1.0001, FULL_SCALE, 9).tolist()]
    steps = [apart(before, after) for before, after in itertools.pairwise(colours)]
    assert max(steps) <= 1.3 * min(steps)


@pytest.mark.parametrize("vision", VISIONS)
def test_the_report_has_the_same_scale(vision: str) -> None:
    colours = {step: colour for step, colour, _ in colour_steps()}
    levels = [tuple(bytes.fromhex(colours[step_of(severity)][1:])) for severity in (0.5, *LEGEND)]
    for before, after in itertools.pairwise(levels):
        assert apart(before, after, vision) >= APART
        assert seen(after, vision)[0] - seen(before, vision)[0] >= LIGHTER


def test_the_report_has_no_edges_that_the_window_has_not() -> None:
    """Our choice: about what is just told apart where two patches touch (common practice, no source)."""
    steps = [(step, tuple(bytes.fromhex(colour[1:]))) for step, colour, _ in colour_steps()]
    for (one, before), (two, after) in itertools.pairwise(steps):
        if two == one + 1:  # the gap at the tolerance is an edge, and is meant
            assert apart(before, after) <= 1.5, (one, two)


@pytest.mark.parametrize("vision", VISIONS)
def test_lines_of_several_lights_need_no_hue(vision: str) -> None:
    """They are greys, which every vision leaves as they are, and no two have the same dashes."""
    for grey, _, _ in line_styles.STYLES:
        assert apart((grey, grey, grey), encoded(VISIONS[vision](linear((grey, grey, grey))))) < 1.0
    assert len({dashes for _, _, dashes in line_styles.STYLES}) == len(line_styles.STYLES)


# What is measured with


def published() -> list[dict[str, str]]:
    if not SHARMA.is_file():
        return []
    with SHARMA.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.mark.skipif(
    not SHARMA.is_file(), reason="the table of Sharma, Wu and Dalal is not beside the project"
)
def test_ciede2000_as_published() -> None:
    """G. Sharma, W. Wu, E. N. Dalal, Color Research and Application 30:21 (2005), table 1: all pairs, to its four
    digits."""
    rows = published()
    assert len(rows) == 34
    for row in rows:
        one, two = (np.array([float(row[f"{axis}{side}"]) for axis in "Lab"]) for side in "12")
        assert ciede2000(one, two) == pytest.approx(float(row["dE00_published"]), abs=5.1e-5), row["pair"]
        assert ciede2000(two, one) == pytest.approx(ciede2000(one, two), abs=1e-9)


@pytest.mark.parametrize(
    ("one", "two", "difference"),
    [
        ((50.0, 2.6772, -79.7751), (50.0, 0.0, -82.7485), 2.0425),
        ((50.0, 2.5, 0.0), (50.0, 0.0, -2.5), 4.3065),
        ((50.0, 2.5, 0.0), (73.0, 25.0, -18.0), 27.1492),
        ((2.0776, 0.0795, -1.1350), (0.9033, -0.0636, -0.5514), 0.9082),
    ],
)
def test_ciede2000_of_some_pairs(one: tuple[float, ...], two: tuple[float, ...], difference: float) -> None:
    """Pairs 1, 16, 17 and 34 of the same table, so that it is never without a check."""
    assert ciede2000(np.array(one), np.array(two)) == pytest.approx(difference, abs=5.1e-5)


@pytest.mark.parametrize("vision", VISIONS)
def test_greys_are_seen_alike_by_all(vision: str) -> None:
    for level in (0, 46, 64, 128, 255):
        grey = linear((level, level, level))
        assert VISIONS[vision](grey) == pytest.approx(grey, abs=1e-5)


@pytest.mark.parametrize(("vision", "missing"), DICHROMATS.items())
def test_a_dichromat_is_blind_to_what_only_the_missing_cone_takes_up(vision: str, missing: int) -> None:
    """Brettel, Viénot and Mollon (1997): colours along one line of confusion look alike, and what is seen stays so when
    it is seen again."""
    alone = np.linalg.inv(CONES)[:, missing]
    alone = alone / np.abs(alone).max()
    see = VISIONS[vision]
    for rgb_ in np.random.default_rng(7).uniform(0.3, 0.6, (50, 3)):
        looks = see(rgb_)
        assert see(rgb_ + 0.1 * alone) == pytest.approx(looks, abs=1e-9)
        if looks.min() > 0.0 and looks.max() < 1.0:
            assert see(looks) == pytest.approx(looks, abs=1e-9)


@pytest.mark.parametrize(
    ("vision", "colour", "looks"),
    [
        ("protanopia (Brettel)", (220, 60, 40), (108, 94, 42)),
        ("protanopia (Brettel)", (60, 80, 190), (0, 85, 190)),
        ("deuteranopia (Brettel)", (60, 160, 70), (151, 134, 74)),
        ("deuteranopia (Brettel)", (190, 70, 150), (114, 124, 147)),
        ("tritanopia (Brettel)", (50, 80, 190), (0, 100, 124)),
        ("tritanopia (Brettel)", (210, 90, 60), (212, 83, 103)),
    ],
)
def test_the_half_planes(vision: str, colour: Rgb, looks: Rgb) -> None:
    """DaltonLens-Python 0.1.5, `simulate.Simulator_Brettel1997().simulate_cvd`, within one step of 8 bits."""
    assert encoded(VISIONS[vision](linear(colour))) == pytest.approx(looks, abs=1)

"""Light at a mark against figures of another hand.

Source of the figures: tests/data/light_reference/README.md. They were made outside this program, from the schema text of
UsdLux, by quasi-Monte-Carlo over the emitting surfaces (65,536 Sobol points a light), and compared with an independent
physically based renderer on 525 renders of a white Lambertian patch.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence

import numpy as np
import pytest

from light_reference import Figure, sheet_figures, told, usd_figures

COUNTS = 1e-3
"""Lights that give less of a mark's light than this are not asked for: the reference itself is noise there."""


def by_kind(figures: Sequence[Figure]) -> Mapping[str, list[Figure]]:
    found: dict[str, list[Figure]] = defaultdict(list)
    for figure in figures:
        if figure.share >= COUNTS:
            found[figure.kind].append(figure)
    return found


@pytest.fixture(scope="module")
def sheets() -> Mapping[str, list[Figure]]:
    return by_kind(list(sheet_figures()))


@pytest.fixture(scope="module")
def scenes() -> Mapping[str, list[Figure]]:
    return by_kind(list(usd_figures()))


UNSHAPED = ("point", "sphere", "disk", "rect", "cylinder", "distant")


@pytest.mark.parametrize("shape", UNSHAPED)
def test_plain_lights(sheets: Mapping[str, list[Figure]], shape: str) -> None:
    figures = sheets[shape]
    assert len(figures) > 50
    errors = [figure.stops for figure in figures]
    assert np.median(errors) < 0.001, told(figures)
    assert max(errors) < 0.02, told(figures)


def test_lights_of_a_colour_and_a_temperature(sheets: Mapping[str, list[Figure]]) -> None:
    figures = [one for kind, several in sheets.items() if kind.endswith("_coloured") for one in several]
    assert len(figures) > 60
    assert max(figure.stops for figure in figures) < 0.02, told(figures)


def test_shaped_area_lights(sheets: Mapping[str, list[Figure]]) -> None:
    """A cone or a focus counts at each point of the light."""
    figures = [*sheets["rect_shaped"], *sheets["sphere_shaped"], *sheets["spot"]]
    assert len(figures) > 150
    errors = [figure.stops for figure in figures]
    assert np.median(errors) < 0.001, told(figures)
    assert max(errors) < 0.02, told(figures)


SCENES = (
    *("sphere", "sphere_cone", "sphere_focus", "rect", "rect_uneven", "rect_cone", "disk", "disk_cone"),
    *("cylinder", "cylinder_cone", "distant", "dome", "coltemp", "instanced"),
)


@pytest.mark.parametrize("kind", SCENES)
def test_lights_of_scenes(scenes: Mapping[str, list[Figure]], kind: str) -> None:
    """Y and Z up, metres and centimetres, nested, rolled, unevenly scaled, instanced."""
    figures = scenes[kind]
    assert len(figures) > 10
    errors = [figure.stops for figure in figures]
    assert np.median(errors) < 0.001, told(figures)
    assert max(errors) < 0.02, told(figures)


def test_skies_with_a_map(scenes: Mapping[str, list[Figure]]) -> None:
    """By 64 x 32 cells of the map, beside the whole map: within 0.07 stops is what is asked for."""
    figures = scenes["dome_map"]
    assert len(figures) > 20
    assert max(figure.stops for figure in figures) < 0.02, told(figures)


@pytest.mark.parametrize(("kind", "most"), [("ies", 0.001), ("rect_texture", 0.02), ("mesh", 0.001)])
def test_lights_with_a_profile_or_a_picture(
    scenes: Mapping[str, list[Figure]], kind: str, most: float
) -> None:
    figures = scenes[kind]
    assert len(figures) >= 8
    errors = [figure.stops for figure in figures]
    assert np.median(errors) < 0.001 and max(errors) < most, told(figures)

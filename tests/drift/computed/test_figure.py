"""The figure preview: a head lit as the mark is."""

from __future__ import annotations

import numpy as np
import pytest

from drift.computed.scenes import FACE, point, sheet, shot
from samelight.drift.computed.figure import SIZE, Figure, figure_of


def figure(own: dict[str, object], master: dict[str, object] | None = None) -> Figure:
    made = figure_of("face", sheet("A", own), sheet("", master or {"lights": own["lights"]}), None)
    assert made is not None
    return made


def halves(picture: np.ndarray) -> tuple[float, float]:
    """The mean of the left and of the right half."""
    return float(np.nanmean(picture[:, : SIZE // 2])), float(np.nanmean(picture[:, SIZE // 2 :]))


RIGHT, LEFT = {"key": point(8, 4, 0, 1)}, {"key": point(8, -4, 0, 1)}


def test_the_key_side_is_bright_and_the_other_dark() -> None:
    made = figure(shot(RIGHT))
    assert made.shot.shape == (SIZE, SIZE, 3)
    left, right = halves(made.shot)
    assert right > 3.0 * left
    assert np.array_equal(made.shot, made.reference, equal_nan=True)


def test_a_light_that_went_to_the_other_side_lights_the_other_side() -> None:
    made = figure(shot(LEFT), {"lights": RIGHT})
    assert halves(made.shot)[0] > 3.0 * halves(made.shot)[1]
    assert halves(made.reference)[1] > 3.0 * halves(made.reference)[0]


def test_one_exposure_for_both_so_that_a_stop_is_a_stop() -> None:
    made = figure(shot({"key": point(4, 0, 0, 4)}), {"lights": {"key": point(8, 0, 0, 4)}})
    both = ~np.isnan(made.shot) & (made.reference > 0.0)
    assert np.allclose(made.shot[both] / made.reference[both], 0.5)


def test_the_face_is_turned_as_its_normal_and_seen_by_the_camera() -> None:
    """From the side of a camera at the face's left, what lights its front comes from the right."""
    front = {"key": point(8, 0, 0, 4)}
    side = shot(front, camera={"position": [-5, 0, 0]})
    left, right = halves(figure(side).shot)
    assert right > 2.0 * left


def test_the_nose_throws_a_shadow_away_from_the_key() -> None:
    """Without a fill a part of the lit side, beyond the nose, is black."""
    made = figure(shot({"key": point(8, 2, 0, 3)}))
    middle = made.shot[SIZE // 2 - 6 : SIZE // 2 + 10, SIZE // 4 : SIZE // 2, 0]
    assert (middle == 0.0).any() and (middle > 0.3).any()


def test_what_is_hidden_does_not_light_it() -> None:
    fill = {"key": point(8, 4, 0, 1), "fill": point(1, -4, 0, 1)}
    own = {**shot(fill), "marks": {"face": {**FACE, "sees": {"key": 0, "fill": 1}}}}
    key = sheet("KEY", {**shot(fill), "marks": {"face": {**FACE, "sees": {"key": 1, "fill": 1}}}})
    made = figure_of("face", sheet("A", own), sheet("", {"lights": fill}), key)
    assert made is not None
    assert halves(made.shot)[0] > halves(made.shot)[1]
    assert halves(made.reference)[1] > halves(made.reference)[0]


def test_a_colour_tints_it() -> None:
    warm = {"key": point(8, 0, 0, 4, temperature=2700)}
    lit = figure(shot(warm)).shot
    assert np.nanmean(lit[..., 0]) > 1.5 * np.nanmean(lit[..., 2])


@pytest.mark.parametrize(
    "own",
    [shot({"key": point(8, 0, 0, 4)}, marks={}), shot({"key": point(0, 0, 0, 4)}), shot({})],
)
def test_where_there_is_nothing_to_show_there_is_none(own: dict[str, object]) -> None:
    assert figure_of("face", sheet("A", own), sheet("", {"lights": own["lights"]}), None) is None

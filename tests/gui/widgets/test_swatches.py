"""Two colours side by side: their codes on the screen, their figures, and what is said of those outside sRGB."""

from __future__ import annotations

import numpy as np
import pytest
from pytestqt.qtbot import QtBot

from samelight.gui.widgets.swatches import SURROUND, Swatches, difference_text, shade_of
from samelight.light.colour import planckian_uv, xy_to_uv
from samelight.light.primaries import rgb_of
from samelight.sheets.values import Colour, Curve
from samelight.sources.pictures.view_transform import srgb_codes

WHITE = Colour(*xy_to_uv(0.3127, 0.3290))


def colour(kelvin: float) -> Colour:
    return Colour(*planckian_uv(kelvin))


def pair(qtbot: QtBot, first: Colour | None, second: Colour | None) -> Swatches:
    made = Swatches()
    qtbot.addWidget(made)
    made.resize(320, 200)
    made.show_pair(first, second, ("master v003", "HB_110 v002"))
    made.show()
    return made


def test_d65_is_white_and_inside() -> None:
    shade = shade_of(WHITE)
    assert shade is not None
    assert shade.rgb == (255, 255, 255)
    assert not shade.outside


def test_the_colours_on_the_screen_are_srgb_codes_on_neutral_grey(qtbot: QtBot) -> None:
    made = pair(qtbot, colour(5000), colour(2500))
    image = made.field.grab().toImage()
    for room, kelvin in zip(made.field.rooms(), (5000, 2500), strict=True):
        expected = srgb_codes(np.array(rgb_of(planckian_uv(kelvin)))).tolist()
        found = image.pixelColor(room.center())
        assert [found.red(), found.green(), found.blue()] == expected
    # Edge to edge: nothing of the surround lies between them.
    left, right = made.field.rooms()
    assert left.right() + 1 == right.left()
    corner = image.pixelColor(2, 2)
    assert (corner.red(), corner.green(), corner.blue()) == (118, 118, 118)
    assert SURROUND.red() == SURROUND.green() == SURROUND.blue()


def test_the_figures_say_chromaticity_temperature_and_difference(qtbot: QtBot) -> None:
    made = pair(qtbot, colour(5000), colour(4770))
    said = made.words()
    for part in (
        "master v003",
        "u′ 0.2114  v′ 0.4847",
        "5000 K, 200 MK⁻¹, Duv 0",
        "4770 K, 210 MK⁻¹, Duv 0",
        "3.97 steps apart, +9.6 MK⁻¹",
        "sRGB",
    ):
        assert part in said
    assert "Outside" not in said
    assert made.field.accessibleName().endswith(said)


def test_a_colour_outside_srgb_is_said_to_be(qtbot: QtBot) -> None:
    green = Colour(*xy_to_uv(0.170, 0.797))  # the green primary of Rec. 2020
    made = pair(qtbot, WHITE, green)
    assert "Outside sRGB and clipped, so paler than it is: HB_110 v002." in made.words()
    assert "too far from the locus for a colour temperature" in made.words()
    shade = shade_of(green)
    assert shade is not None and shade.outside and min(shade.rgb) == 0


def test_one_side_alone_is_one_swatch(qtbot: QtBot) -> None:
    made = pair(qtbot, None, colour(3200))
    assert len(made.field.shades) == 1
    assert "apart" not in made.words() and "3200 K" in made.words()


def test_an_animated_colour_is_shown_at_its_first_key(qtbot: QtBot) -> None:
    moving = Curve(((1001.0, colour(3200)), (1040.0, colour(5600))), "linear")
    made = Swatches()
    qtbot.addWidget(made)
    assert made.show_pair(colour(3200), moving, ("master v003", "HB_110 v002"))
    assert "Animated: at the first key" in made.words() and "0 steps apart" in made.words()


def test_what_is_no_colour_shows_nothing(qtbot: QtBot) -> None:
    made = Swatches()
    qtbot.addWidget(made)
    assert not made.show_pair(1.0, 2.0, ("a", "b"))
    assert made.isHidden()


@pytest.mark.parametrize(("kelvin", "word"), [(4000, "warmer"), (6500, "cooler")])
def test_the_difference_in_words(kelvin: float, word: str) -> None:
    assert word in difference_text(colour(5000), colour(kelvin))

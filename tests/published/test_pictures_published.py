"""What is done to a picture before it is on the screen, against published values."""

from __future__ import annotations

import numpy as np
import pytest

from samelight.light.spaces import rec709_matrix
from samelight.sources.pictures.view_transform import linear_of, srgb_codes


@pytest.mark.parametrize(
    ("linear", "value"),
    [
        # IEC 61966-2-1:1999, the curve by its formula, worked by hand with four decimals.
        (0.0031308, 0.0404),  # where its line ends
        (0.18, 0.4614),  # 1.055 x 0.18^(1/2.4) - 0.055
        (0.36, 0.6342),
        (0.5, 0.7354),
        (1.0, 1.0),
    ],
)
def test_the_srgb_curve(linear: float, value: float) -> None:
    assert int(srgb_codes(np.array([linear]))[0]) == pytest.approx(255 * value, abs=0.51)
    assert float(linear_of(srgb_codes(np.array([linear])))[0]) == pytest.approx(linear, abs=0.004)


def test_middle_grey_is_code_118() -> None:
    # Common practice: an 18 % grey card is 118 of 255 in sRGB.
    assert srgb_codes(np.array([0.18])).tolist() == [118]


def test_acescg_to_rec709() -> None:
    # The matrix that goes with S-2014-004's primaries and white, Bradford adaptation, to five decimals. Written from
    # memory; widely printed in this form.
    published = [
        [1.70505, -0.62179, -0.08326],
        [-0.13026, 1.14080, -0.01055],
        [-0.02400, -0.12897, 1.15297],
    ]
    made = rec709_matrix(((0.713, 0.293), (0.165, 0.830), (0.128, 0.044)), (0.32168, 0.33767))
    assert np.allclose(made, published, atol=2e-5)

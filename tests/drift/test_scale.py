"""The colours of drift, without a window."""

from __future__ import annotations

import math
import subprocess
import sys

import numpy as np

from samelight.drift import scale


def test_nearly_every_place_of_a_drift_has_a_colour_of_its_own() -> None:
    colours = scale.lookup()
    assert colours.shape == (256, 3) and colours.dtype == np.uint8
    over = [tuple(colour) for colour in colours[round(scale.place(1.001) * 255) :].tolist()]
    assert len(set(over)) > 0.95 * len(over)  # 8 bits make a few of them alike


def test_only_the_limits_of_the_scale_are_places_twice() -> None:
    severities = [0.0, 0.5, 1.0, 1.001, 2.0, 8.0, scale.FULL_SCALE]
    places = [scale.place(severity) for severity in severities]
    assert places == sorted(set(places))
    assert scale.place(math.inf) == scale.place(scale.FULL_SCALE) == 1.0
    assert scale.place(-1.0) == scale.place(math.nan) == 0.0


def test_no_window_library_is_needed_for_it() -> None:
    program = (
        "import sys; from samelight.drift import scale; from samelight.reports import as_html; scale.rgb(3.0); "
        "sys.exit(any(name.startswith(('PySide6', 'pyqtgraph')) for name in sys.modules))"
    )
    assert subprocess.run([sys.executable, "-c", program], check=False).returncode == 0

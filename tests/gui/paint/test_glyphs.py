"""Many marks at once look as one after the other, and have the colours that each has alone."""

from __future__ import annotations

import math

import numpy as np
import pytest
from PySide6.QtCore import QPointF
from PySide6.QtGui import QImage, QPainter

from samelight.drift.cells import Grade
from samelight.gui.paint import drift_scale, theme
from samelight.gui.paint.glyphs import Mark, draw_mark, draw_marks

SIDE = 120


def marks() -> list[Mark]:
    """Every grade and colour, some over others, in no order that would let one pen do for several."""
    dice = np.random.default_rng(3)
    found: list[Mark] = []
    for grade in (Grade.WITHIN, Grade.DRIFT, Grade.BREAK, Grade.DRIFT, Grade.WITHIN):
        for severity in (0.4, 1.0, 1.5, 8.0, math.inf):
            x, y = dice.uniform(10, SIDE - 10, 2).tolist()
            found += [
                (x + 3 * intended, y, int(grade), drift_scale.colour(severity), intended)
                for intended in (False, True)
            ]
    return found


def picture(size: float, *, at_once: bool) -> QImage:
    image = QImage(SIDE, SIDE, QImage.Format.Format_RGB32)
    image.fill(theme.WINDOW)
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    if at_once:
        draw_marks(painter, marks(), size)
    else:
        for x, y, grade, fill, intended in marks():
            painter.save()
            painter.translate(x, y)
            painter.scale(size, size)
            draw_mark(painter, QPointF(), grade, fill, intended=intended)
            painter.restore()
    painter.end()
    return image


def levels(image: QImage) -> np.ndarray:
    return np.frombuffer(image.constBits(), dtype=np.uint8).reshape(SIDE, SIDE, 4)[:, :, :3].astype(np.int64)


@pytest.mark.parametrize("size", [1.0, 0.7])
def test_many_marks_look_as_one_after_the_other(dressed: None, size: float) -> None:
    at_once, alone = levels(picture(size, at_once=True)), levels(picture(size, at_once=False))
    assert np.abs(at_once - alone).max() <= 2  # Qt rounds what is scaled
    assert len(np.unique(alone.reshape(-1, 3), axis=0)) > 20


def test_the_colours_of_many_are_those_of_each() -> None:
    severity = np.concatenate((np.linspace(0, 40, 400), [math.inf, math.nan, 1.0]))
    assert drift_scale.colours(severity) == [drift_scale.colour(float(each)) for each in severity]
    assert drift_scale.colours(np.zeros(0)) == []
    assert drift_scale.colours(np.array([0.0])) == [theme.CELL]

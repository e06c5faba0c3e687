"""Two colours side by side on a neutral grey, as true as the screen can show them, with their figures."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from PySide6.QtCore import QRect, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent
from PySide6.QtWidgets import QGridLayout, QSizePolicy, QVBoxLayout, QWidget

from samelight.drift.words import MINUS, number_text
from samelight.gui.paint import theme
from samelight.gui.widgets.page_parts import LEAST_WIDTH, FittedLabel
from samelight.gui.widgets.plain_text import plain
from samelight.light.colour import STEP, cct_duv, mired, shift_in_words, steps
from samelight.light.primaries import rgb_of
from samelight.sheets.values import Colour, Curve, Value
from samelight.sources.pictures.view_transform import srgb_codes

SURROUND = theme.grey(118)
"""The sRGB code of an 18 % grey."""

_HEIGHT, _MARGIN = 64, 12
_OUTSIDE = -1e-4
"""A channel of linear Rec.709 below this is outside the gamut, and not the rounding of a colour on its edge."""


@dataclass(frozen=True, slots=True)
class Shade:
    """A chromaticity as the screen shows it, each as bright as it can, and its figures in words.

    `outside` where sRGB does not hold it: its nearest clipped neighbour is shown then, which looks paler.
    """

    rgb: tuple[int, int, int]
    outside: bool
    chromaticity: str
    temperature: str


def shade_of(colour: Colour) -> Shade | None:
    """The shade of a colour; None where no light has such a chromaticity."""
    try:
        linear = rgb_of((colour.u, colour.v))
    except ValueError:
        return None
    red, green, blue = srgb_codes(np.array(linear)).tolist()
    found = cct_duv(colour.u, colour.v)
    near = "too far from the locus for a colour temperature"
    if found is not None:
        kelvin, duv = found
        off = f"{duv:+.4f}".replace("-", MINUS) if abs(duv) >= 0.00005 else "0"
        near = f"{kelvin:.0f} K, {mired(kelvin):.0f} MK⁻¹, Duv {off}"
    return Shade((red, green, blue), min(linear) < _OUTSIDE, f"u′ {colour.u:.4f}  v′ {colour.v:.4f}", near)


def colour_of(value: Value | None) -> Colour | None:
    """The colour to show of a value: an animated one at its first key."""
    still = value.keys[0][1] if isinstance(value, Curve) else value
    return still if isinstance(still, Colour) else None


def difference_text(master: Colour, shot: Colour) -> str:
    """How far two colours are apart, in steps, mired and words.

    >>> difference_text(Colour(0.2114, 0.4847), Colour(0.2114, 0.4847))
    '0 steps apart'
    """
    apart = steps((master.u, master.v), (shot.u, shot.v))
    said = f"{number_text(apart, 3)} steps apart"
    if apart < 1e-6:
        return "0 steps apart"
    before, after = cct_duv(master.u, master.v), cct_duv(shot.u, shot.v)
    if before is not None and after is not None:
        shift = f"{mired(after[0]) - mired(before[0]):+.1f}".replace("-", MINUS)
        green = after[1] - before[1]
        said += f", {shift} MK⁻¹"
        said += f", Duv {green:+.4f}".replace("-", MINUS) if abs(green) >= 0.00005 else ""
    words = shift_in_words((master.u, master.v), (shot.u, shot.v))
    return f"{said}: {words}" if words else said


class _Field(QWidget):
    """The colours, edge to edge, since a difference is seen best where two meet."""

    def __init__(self) -> None:
        super().__init__()
        self.shades: list[Shade] = []
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.setFixedHeight(_HEIGHT)
        self.setMinimumWidth(LEAST_WIDTH)

    def sizeHint(self) -> QSize:
        return QSize(LEAST_WIDTH, _HEIGHT)

    def rooms(self) -> list[QRect]:
        """Where each colour is painted."""
        inner = self.rect().adjusted(_MARGIN, _MARGIN, -_MARGIN, -_MARGIN)
        count = max(len(self.shades), 1)
        edges = [inner.left() + round(inner.width() * place / count) for place in range(count + 1)]
        return [QRect(left, inner.top(), right - left, inner.height()) for left, right in pairwise(edges)]

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.fillRect(self.rect(), SURROUND)
        for room, shade in zip(self.rooms(), self.shades, strict=False):
            painter.fillRect(room, QColor(*shade.rgb))
        painter.end()


class Swatches(QWidget):
    """The master's colour and the shot's."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.field = _Field()
        self.figures = [FittedLabel(points=theme.BODY, lines=5), FittedLabel(points=theme.BODY, lines=5)]
        self.apart = FittedLabel(lines=4)
        self.note = FittedLabel(points=theme.DENSE, dim=True, lines=4)
        columns = QGridLayout()
        columns.setContentsMargins(0, 0, 0, 0)
        columns.setHorizontalSpacing(8)
        for place, label in enumerate(self.figures):
            columns.addWidget(label, 0, place, Qt.AlignmentFlag.AlignTop)
            columns.setColumnStretch(place, 1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 2, 0, 0)
        layout.setSpacing(3)
        layout.addWidget(self.field)
        layout.addLayout(columns)
        layout.addWidget(self.apart)
        layout.addWidget(self.note)

    def show_pair(self, master: Value | None, shot: Value | None, names: tuple[str, str]) -> bool:
        """Show the colours of two values; whether there is one to show."""
        colours = [colour_of(master), colour_of(shot)]
        shades = [shade_of(colour) if colour is not None else None for colour in colours]
        self.field.shades = [shade for shade in shades if shade is not None]
        shown = bool(self.field.shades)
        self.setVisible(shown)
        if not shown:
            return False
        for label, name, shade in zip(self.figures, names, shades, strict=True):
            label.setVisible(shade is not None)
            if shade is not None:
                label.setText(f"{name}\n{shade.chromaticity}\n{shade.temperature}")
        both = colours[0] is not None and colours[1] is not None and len(self.field.shades) == 2
        self.apart.setVisible(both)
        if colours[0] is not None and colours[1] is not None:
            self.apart.setText(difference_text(colours[0], colours[1]))
        outside = [
            name for name, shade in zip(names, shades, strict=True) if shade is not None and shade.outside
        ]
        said = "Chromaticity only, each as bright as sRGB can show it."
        if isinstance(master, Curve) or isinstance(shot, Curve):
            said += " Animated: at the first key."
        if outside:
            said += f" Outside sRGB and clipped, so paler than it is: {' and '.join(outside)}."
        self.note.tip = f"One step is {STEP} in CIE 1976 u′v′ (CIE TN 001:2014). sRGB: IEC 61966-2-1."
        self.note.setText(said)
        self.field.setToolTip(plain(f"{names[0]} at the left, {names[1]} at the right" if both else said))
        self.field.setAccessibleName(f"Colours: {self.words()}")
        self.field.update()
        return True

    def words(self) -> str:
        """The figures as text."""
        labels = [*self.figures, self.apart, self.note]
        return "\n".join(label.text() for label in labels if not label.isHidden())

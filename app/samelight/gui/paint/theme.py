"""A lighter's room: neutral grey (R = G = B), so that the surround tints no colour that is judged in it."""

from __future__ import annotations

from PySide6.QtGui import QColor, QFont, QFontDatabase, QPalette
from PySide6.QtWidgets import QApplication

from samelight.gui.paint.house_style import HouseStyle
from samelight.sheets.resources import resource

TEXT_FAMILY = "Source Sans 3"
SIGN_FAMILY = "DejaVu Sans"
_FONT_FILES = ("SourceSans3-Regular.ttf", "SourceSans3-Bold.ttf", "DejaVuSans.ttf")


def grey(level: int) -> QColor:
    """A neutral grey, 0 to 255."""
    return QColor(level, level, level)


WINDOW = grey(46)
PANEL = grey(54)
CELL = grey(64)
GROUP_CELL = grey(58)
EMPTY_CELL = grey(49)
LINE = grey(40)
EDGE = grey(86)
TEXT = grey(226)
DIM_TEXT = grey(172)
BRIGHT = grey(250)
FIELD = grey(36)
HIGHLIGHT = grey(98)


SMALL, DENSE, BODY, LARGE = 8.0, 9.0, 10.0, 16.0
"""The sizes of type, in points: of notes beside a picture, of tables, of what is read, of a title. The review has its own, by the
height of its wall."""


def font(points: float = BODY, *, bold: bool = False) -> QFont:
    """The text face; signs that it lacks come from the second family."""
    face = QFont([TEXT_FAMILY, SIGN_FAMILY])
    face.setPointSizeF(points)
    face.setBold(bold)
    return face


def palette() -> QPalette:
    """Every role in neutral grey."""
    colours = QPalette()
    roles = QPalette.ColorRole
    for role, colour in (
        (roles.Window, WINDOW),
        (roles.WindowText, TEXT),
        (roles.Base, FIELD),
        (roles.AlternateBase, PANEL),
        (roles.Text, TEXT),
        (roles.PlaceholderText, grey(150)),
        (roles.Button, grey(70)),
        (roles.ButtonText, TEXT),
        (roles.BrightText, BRIGHT),
        (roles.ToolTipBase, grey(28)),
        (roles.ToolTipText, TEXT),
        (roles.Highlight, HIGHLIGHT),
        (roles.HighlightedText, BRIGHT),
        (roles.Link, grey(210)),
        (roles.LinkVisited, grey(190)),
        (roles.Light, grey(90)),
        (roles.Midlight, grey(76)),
        (roles.Mid, grey(44)),
        (roles.Dark, grey(32)),
        (roles.Shadow, grey(16)),
        (roles.Accent, HIGHLIGHT),
    ):
        colours.setColor(role, colour)
    for role in (roles.WindowText, roles.Text, roles.ButtonText, roles.HighlightedText):
        colours.setColor(QPalette.ColorGroup.Disabled, role, grey(128))
    return colours


_OUTLINE, _DIM_OUTLINE = 178, 150
"""Lightness of the outline of a check box and a radio button, and of one that is disabled."""

_DARKER = 1.4
"""The Fusion style draws outlines so much darker than what the palette calls Window."""


def _outlined(*, focus: bool) -> QPalette:
    """The palette with outlines that are seen; with `focus` what has the focus is outlined with the highlight as well."""
    colours = palette()
    for group in (QPalette.ColorGroup.Active, QPalette.ColorGroup.Inactive, QPalette.ColorGroup.Disabled):
        level = _DIM_OUTLINE if group is QPalette.ColorGroup.Disabled else _OUTLINE
        colours.setColor(group, QPalette.ColorRole.Window, grey(round(level * _DARKER)))
        if focus:
            colours.setColor(group, QPalette.ColorRole.Highlight, BRIGHT)
    return colours


def apply(app: QApplication) -> None:
    """Give the whole program its fonts, greys and style."""
    for name in _FONT_FILES:
        QFontDatabase.addApplicationFont(str(resource("fonts", name)))
    if not isinstance(app.style(), HouseStyle):
        app.setStyle(HouseStyle())
    app.setPalette(palette())
    # Their ground is drawn by what they stand on, or as Base: for these, Window means nothing but the outline.
    for name, focus in (("QCheckBox", True), ("QRadioButton", True), ("QMenu", False)):
        # The stubs ask for bytes here, which the call itself refuses.
        app.setPalette(_outlined(focus=focus), name)  # type: ignore[arg-type]
    app.setFont(font())

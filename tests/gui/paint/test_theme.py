"""What the theme owes to eyes that see little contrast: indicators that are seen in every state."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QImage, QPainter
from PySide6.QtWidgets import (
    QAbstractButton,
    QCheckBox,
    QListWidget,
    QListWidgetItem,
    QMenu,
    QRadioButton,
    QStyle,
    QStyleOptionButton,
)
from pytestqt.qtbot import QtBot

from colour_help import contrast
from samelight.gui.paint import theme

GRAPHICS = 3.0
"""WCAG 2.2, 1.4.11, non-text contrast: what is needed to know a control and its state."""

State = QStyle.StateFlag
Rgb = tuple[int, int, int]


def rgb(image: QImage, x: int, y: int) -> Rgb:
    colour = image.pixelColor(x, y)
    return colour.red(), colour.green(), colour.blue()


def grey(level: int) -> Rgb:
    return level, level, level


def drawn(button: QAbstractButton, extra: State, ground: int) -> tuple[QImage, int, int, int, int]:
    """A button as its style draws it, and the first and last column and row of its indicator."""
    option = QStyleOptionButton()
    option.initFrom(button)
    option.text = button.text()
    option.state |= State.State_On if button.isChecked() else State.State_Off
    option.state |= extra
    style, is_box = button.style(), isinstance(button, QCheckBox)
    sub = QStyle.SubElement.SE_CheckBoxIndicator if is_box else QStyle.SubElement.SE_RadioButtonIndicator
    image = QImage(button.size(), QImage.Format.Format_RGB32)
    image.fill(theme.grey(ground))
    painter = QPainter(image)
    control = QStyle.ControlElement.CE_CheckBox if is_box else QStyle.ControlElement.CE_RadioButton
    style.drawControl(control, option, painter, button)
    painter.end()
    room = style.subElementRect(sub, option, button)
    return image, room.left(), room.right(), room.top(), room.bottom()


@pytest.mark.parametrize("ground", [theme.WINDOW.red(), theme.PANEL.red()])
@pytest.mark.parametrize("enabled", [True, False])
@pytest.mark.parametrize("checked", [True, False])
@pytest.mark.parametrize(
    "extra",
    [State.State_None, State.State_MouseOver, State.State_HasFocus | State.State_KeyboardFocusChange],
    ids=["plain", "hover", "focus"],
)
@pytest.mark.parametrize("kind", [QCheckBox, QRadioButton])
def test_the_outline_of_an_indicator_is_seen_in_every_state(
    qtbot: QtBot,
    kind: type[QCheckBox | QRadioButton],
    extra: State,
    checked: bool,
    enabled: bool,
    ground: int,
) -> None:
    button = kind("also when the shot itself breaks a lock")
    qtbot.addWidget(button)
    button.setCheckable(True)
    button.setChecked(checked)
    button.setEnabled(enabled)
    button.ensurePolished()
    button.resize(button.sizeHint())
    image, left, right, top, bottom = drawn(button, extra, ground)
    across, down = (left + right) // 2, (top + bottom) // 2
    for side in (
        [(x, down) for x in range(left, left + 3)],
        [(x, down) for x in range(right - 2, right + 1)],
        [(across, y) for y in range(top, top + 3)],
        [(across, y) for y in range(bottom - 2, bottom + 1)],
    ):
        assert max(contrast(rgb(image, *place), grey(ground)) for place in side) >= GRAPHICS, side
    if checked and enabled:
        inner = [(x, y) for x in range(left + 3, right - 2) for y in range(top + 3, bottom - 2)]
        assert max(contrast(rgb(image, *place), grey(theme.FIELD.red())) for place in inner) >= GRAPHICS


@pytest.mark.parametrize("enabled", [True, False])
def test_a_switch_in_a_menu_is_seen_while_it_is_off(qtbot: QtBot, enabled: bool) -> None:
    menu = QMenu()
    qtbot.addWidget(menu)
    action = menu.addAction("Only my shots")
    action.setCheckable(True)
    action.setEnabled(enabled)
    menu.resize(menu.sizeHint())
    image = menu.grab().toImage()
    room = menu.actionGeometry(action)
    row, start = room.center().y(), room.left() + 3
    line = [rgb(image, x, row) for x in range(start, start + 26)]
    edges = [x for x, colour in enumerate(line) if contrast(colour, line[0]) >= GRAPHICS]
    assert len(edges) >= 2 and edges[-1] - edges[0] >= 8  # both sides of an empty box
    assert all(red == green == blue for red, green, blue in line)


def test_a_box_in_a_list_is_seen_while_it_is_empty(qtbot: QtBot) -> None:
    shots = QListWidget()
    qtbot.addWidget(shots)
    for name in ("HB_050", "HB_060"):
        shots.addItem(QListWidgetItem(name))
        shots.item(shots.count() - 1).setCheckState(Qt.CheckState.Unchecked)
    shots.setCurrentRow(1)
    image = shots.grab().toImage()
    for item in (shots.item(0), shots.item(1)):
        place = shots.visualItemRect(item).translated(shots.viewport().pos())
        line = [rgb(image, x, place.center().y()) for x in range(place.left() + 1, place.left() + 22)]
        edges = [x for x, colour in enumerate(line) if contrast(colour, line[0]) >= GRAPHICS]
        assert len(edges) >= 2 and edges[-1] - edges[0] >= 8  # both sides of it


def test_type_has_four_sizes() -> None:
    """The window's own; the review has its sizes by the height of its wall."""
    app = Path(theme.__file__).parents[1]
    odd = [
        (str(path.relative_to(app)), size)
        for path in sorted(app.rglob("*.py"))
        for size in re.findall(
            r"(?:font\(|points\s*=\s*|font-size: )(\d+(?:\.\d+)?)", path.read_text(encoding="utf-8")
        )
        if float(size) not in (theme.SMALL, theme.DENSE, theme.BODY, theme.LARGE)
    ]
    assert odd == []

"""The frame as it is seen, with its figures, as a picture in a file that a note or a verdict can name."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QFont, QFontMetrics, QImage, QPainter

from samelight.decisions.decision import NOT_GRABBED, Grabbed
from samelight.gui.paint import drift_scale, theme
from samelight.gui.paint.drawn_text import draw_text
from samelight.gui.paint.png_bytes import png_bytes
from samelight.gui.review.review_state import ReviewState
from samelight.gui.review.shot_said import Said
from samelight.gui.review.type_size import pixel_font
from samelight.gui.widgets.boxes import warn
from samelight.sheets.errors import SamelightError
from samelight.sheets.frames import GRABBED
from samelight.sheets.writing import write_new
from samelight.sources.pictures.pictures import frame_number

if TYPE_CHECKING:
    from samelight.gui.review.review_window import ReviewWindow

_MOST_SAID = 4
"""Sentences below the frame."""
_MARGIN = 12


def grab(window: ReviewWindow) -> None:
    """Write the frame as it is seen, with its figures, into the folder of grabbed frames; what is said next of the shot names it."""
    window.playing.stop()
    state = window.state
    if state is None or not state.shot:
        window.bar.say("No shot")
        return
    frame = window.pictures.pane.this.frame
    number = frame_number(Path(frame.stamp[0]), state.shot) if frame is not None and frame.stamp else None
    now = datetime.now().astimezone()
    name = ".".join(
        part
        for part in (state.shot, f"{number:04d}" if number is not None else "", f"{now:%Y%m%dT%H%M%S%f}"[:-3])
        if part
    )
    path = state.session.contents.folder / GRABBED / f"{name}.png"
    picture = with_figures(
        window.pictures.pane.grab().toImage(), state, number, window.bar.view_text, f"{now:%Y-%m-%d %H:%M}"
    )
    try:
        write_new({path: png_bytes(picture)})
    except SamelightError as error:
        warn(window.desk or window, "The frame was not grabbed", str(error))
        return
    window.grabbed = state.shot, Grabbed(number, path.name)
    window.bar.say(f"Grabbed: {GRABBED}/{path.name}. The next note or verdict on {state.shot} names it")


def taken(window: ReviewWindow, shot: str) -> Grabbed:
    """What was grabbed of a shot since something was said of it last."""
    of, seen = window.grabbed
    return seen if of == shot else NOT_GRABBED


def let_go(window: ReviewWindow, shot: str) -> None:
    """Something was said of a shot: what was grabbed of it is told."""
    if window.grabbed[0] == shot:
        window.grabbed = "", NOT_GRABBED


def figure_lines(state: ReviewState, number: int | None, view: str, when: str) -> list[str]:
    """What stands below a frame: which it is and how it is shown, then what is said of the shot, the chosen sentence first."""
    sheet = state.session.contents.sheets.get(state.shot)
    setup = state.session.contents.setup_of(state.shot)
    about = [state.shot]
    about += [f"frame {number}"] if number is not None else []
    about += [f"sheet v{sheet.version:03d}"] if sheet is not None else []
    about += [f"master v{setup.master_version:03d}"] if setup.master is not None else []
    about += [part for part in (view, when) if part]
    said, one = state.said.drifts(), state.choice.one()
    ordered = [one, *(other for other in said if other != one)] if one is not None else said
    return [" · ".join(about), *map(_line, ordered[:_MOST_SAID])]


def _line(said: Said) -> str:
    mark = (
        drift_scale.STATE_MARKS[said.state] if said.handled else drift_scale.GRADE_MARKS.get(said.grade, "")
    )
    return "  ".join(part for part in (mark, said.drift, said.says) if part)


def with_figures(picture: QImage, state: ReviewState, number: int | None, view: str, when: str) -> QImage:
    """A picture with lines of figures below it, in the neutral grey of the window."""
    ratio = picture.devicePixelRatio()
    wide = round(picture.width() / ratio)
    font = pixel_font(max(13, wide // 80))
    lines = figure_lines(state, number, view, when)
    places = _laid_out(lines, font, wide)
    foot = (places[-1].bottom() if places else 0) + _MARGIN
    high = round(picture.height() / ratio)
    whole = QImage(picture.width(), round((high + foot) * ratio), QImage.Format.Format_RGB32)
    whole.setDevicePixelRatio(ratio)
    whole.fill(theme.WINDOW)
    painter = QPainter(whole)
    painter.drawImage(0, 0, picture)
    painter.setFont(font)
    painter.setPen(theme.BRIGHT)
    for line, place in zip(lines, places, strict=True):
        draw_text(painter, place.translated(0, high), _WRAPPED, line)
    painter.end()
    return whole


_WRAPPED = Qt.TextFlag.TextWordWrap | Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop


def _laid_out(lines: Sequence[str], font: QFont, wide: int) -> list[QRect]:
    """Where each line stands below a picture, from its lower edge."""
    metrics, top, places = QFontMetrics(font), _MARGIN, list[QRect]()
    for line in lines:
        room = QRect(_MARGIN, top, wide - 2 * _MARGIN, 6 * metrics.height())
        place = metrics.boundingRect(room, int(_WRAPPED), line)
        places.append(QRect(_MARGIN, top, wide - 2 * _MARGIN, place.height()))
        top += place.height() + _MARGIN // 3
    return places

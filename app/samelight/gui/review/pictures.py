"""The frames that are shown: the shot's, the one that it is compared with, and its neighbours small."""

from __future__ import annotations

from PySide6.QtGui import QHideEvent, QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QWidget

from samelight.gui.background.frame_cache import FrameCache
from samelight.gui.background.frames import FULL, PROXY, Frame
from samelight.gui.review.bar import ReviewBar
from samelight.gui.review.frame_pane import FramePane, Held
from samelight.gui.review.histogram_view import MarkedFrame
from samelight.gui.review.lights_panel import LightsPanel
from samelight.gui.review.neighbour import Neighbour
from samelight.gui.review.perceived_view import PerceivedView
from samelight.gui.review.picture_views import PictureView, PictureViews
from samelight.gui.review.review_state import Compare, ReviewState
from samelight.gui.review.shot_said import ShotSaid
from samelight.gui.review.type_size import TypeSizes, pixel_font, spread_font
from samelight.gui.review.would_be import WouldBe
from samelight.sequence.mark_regions import MarkRegion, mark_regions
from samelight.sequence.same_camera import cameras_apart
from samelight.sources.pictures.seen import Through


class Pictures(QWidget):
    """Reads the frames that are wanted, and shows them as the bar and the panel of lights say."""

    def __init__(self, bar: ReviewBar, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bar = bar
        self._state: ReviewState | None = None
        self.frames = FrameCache(self)
        self.before = Neighbour("Shot before", "Left")
        self.after = Neighbour("Next shot", "Right")
        self.pane = FramePane()
        self.lights = LightsPanel()
        self.lights.hide()
        self.would_be = WouldBe(self.lights, self)
        self.views = PictureViews()
        self.perceived = PerceivedView(self)
        self.neighbours = False
        """Whether the shots beside this one are shown; else its frame has the room."""
        self.row = QHBoxLayout(self)
        self.row.setContentsMargins(0, 0, 0, 0)
        for widget, share in ((self.before, 2), (self.pane, 9), (self.after, 2), (self.lights, 3)):
            self.row.addWidget(widget, share)
        self.frames.changed.connect(self.show_frames)
        self.would_be.changed.connect(self.show_frames)
        self.perceived.changed.connect(self.show_frames)
        self.lights.histogram.chosen.connect(self.show_frames)
        bar.shot_edit.returnPressed.connect(self._compare_typed)
        for box in (bar.compare_box, bar.other_box, self.lights.view_box):
            box.currentIndexChanged.connect(self._want)
        bar.stops_box.valueChanged.connect(self._want)
        bar.marks_button.toggled.connect(self.show_frames)
        bar.lights_button.toggled.connect(self.show_lights)

    def show_shot(self, state: ReviewState) -> None:
        """Show another shot, or the same one as it is now."""
        self._state = state
        self.frames.set_folder(state.session.contents.folder)
        self.would_be.show_shot(state.session, state.shot)
        self._want()

    def show_lights(self, shown: bool) -> None:
        """Show the lights of the frame with a trim for each, or the frame as rendered."""
        self.lights.setVisible(shown)
        if self._state is not None:
            self.would_be.show_shot(self._state.session, self._state.shot)
        self._want()

    def compare_with(self, shot: str) -> None:
        """Compare the shot's frame with that of a shot that was chosen."""
        if self._state is not None and self._state.compare_with(shot) is not None:
            self._bar.compare_with(shot)
            self._want()

    def _compare_typed(self) -> None:
        shot = self._state.compare_with(self._bar.shot_edit.text()) if self._state is not None else None
        if shot is None:
            self._bar.say(f"No shot is called {self._bar.shot_edit.text()}")
            return
        self._bar.shot_edit.setText(shot)
        self.pane.setFocus()
        self._want()

    def look_through(self, through: Through) -> None:
        """See the frames through something else."""
        self.frames.look_through(through)
        self.show_frames()

    def set_type(self, sizes: TypeSizes) -> None:
        """Set the sizes of type."""
        spread_font(self.lights, pixel_font(sizes.keys))
        for widget in (self.before, self.pane, self.after):
            widget.set_type(sizes.room)
        self.row.setSpacing(sizes.gap)

    def stop(self) -> None:
        """Let go of what is read."""
        self.frames.stop()
        self.would_be.stop()
        self.perceived.stop()

    def _want(self, *_: object) -> None:
        state = self._state
        if state is None or not self.isVisible():
            return
        keys = [(state.shot, FULL)]
        is_held = self._bar.compare is not Compare.ALONE or self.lights.view.is_difference
        other = state.other(self._bar.other) if is_held else None
        keys += [(other, FULL)] if other is not None else []
        before, after = state.beside(-1), state.beside(1)
        keys += [(shot, PROXY) for shot in (after, before) if shot is not None]
        if not self.lights.isHidden():  # for the histograms
            keys += [(shot, PROXY) for shot in (state.shot, state.key_shot) if shot]
        # The room mostly walks on: the next frame is there before it is asked for.
        keys += [(after, FULL)] if after is not None else []
        self.frames.want(keys, self._bar.stops_box.value())
        self.show_frames()

    def show_frames(self, *_: object) -> None:
        """Show the frames as they are known now."""
        state, view = self._state, self.lights.view
        if state is None:
            return
        stops, through = self._bar.stops_box.value(), self.frames.through
        rendered = self.frames.best(state.shot)
        frame = self.would_be.frame(state.shot, rendered, stops, through)
        other = state.other(self._bar.other)
        found = self.frames.best(other) if other is not None else None
        apart = self._apart(state, other, frame) if view.is_difference else ""
        is_perceived = view is PictureView.PERCEIVED
        shown = self.perceived.of(frame, found, apart) if is_perceived else self.views.of(view, frame, found)
        self.pane.show_frames(
            self._bar.compare,
            Held(
                self.would_be.title(state.shot),
                state.shot or None,
                shown,
                self._regions(state, state.shot, frame),
            ),
            Held(
                state.other_title(self._bar.other),
                other,
                self.views.of(PictureView.PICTURE if view.is_difference else view, found),
                self._regions(state, other, found),
            ),
        )
        self._show_neighbours(state)
        self._show_histogram(state, None if frame is rendered else frame, stops)
        figure = shown.says if is_perceived and shown is not None and shown.image is not None else ""
        self.lights.show_figure(f"{figure}." if figure else "")
        self._bar.show_view(_view_text(view, frame, figure, apart))

    def _apart(self, state: ReviewState, other: str | None, frame: Frame | None) -> str:
        """Why the pixels of the other frame are not those of this one; empty where they are."""
        if other is None or frame is None or frame.picture is None:
            return ""
        return cameras_apart(state.session, state.shot, other, frame.picture.size)

    def _show_histogram(self, state: ReviewState, frame: Frame | None, stops: float) -> None:
        """Show the histogram of the small frame, or of the frame as it would be."""
        if self.lights.isHidden():
            return
        key = state.key_shot if state.key_shot != state.shot else None
        seen = [
            MarkedFrame(shot, small, self._marks(state, shot, small))
            for shot, small in (
                (state.shot, frame or self.frames.frame(state.shot, PROXY)),
                *([(key, self.frames.frame(key, PROXY))] if key else []),
            )
        ]
        self.lights.histogram.show_frames(seen[0], seen[1] if key else None, stops)

    def _show_neighbours(self, state: ReviewState) -> None:
        for button, by in ((self.before, -1), (self.after, 1)):
            shot = state.beside(by)
            proxy = self.frames.frame(shot, PROXY) if shot is not None else None
            opened = ShotSaid(state.session, shot).count_text().split(",")[0] if shot is not None else ""
            button.set_shot(shot, opened, proxy)
            # Two frames to compare take all the room there is.
            button.setVisible(self.neighbours and self._bar.compare is not Compare.SIDE)

    def _regions(self, state: ReviewState, shot: str | None, frame: Frame | None) -> tuple[MarkRegion, ...]:
        """The marks that are drawn in a shot's frame."""
        return self._marks(state, shot, frame) if shot and self._bar.marks_button.isChecked() else ()

    def _marks(self, state: ReviewState, shot: str, frame: Frame | None) -> tuple[MarkRegion, ...]:
        """The marks that are seen in a shot's frame."""
        if frame is None or frame.picture is None:
            return ()
        return tuple(mark_regions(state.session, shot, frame.picture.size))

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.frames.watch(True)
        self._want()

    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        self.frames.watch(False)


def _view_text(view: PictureView, frame: Frame | None, figure: str, apart: str) -> str:
    """What is done to a frame's picture before it is on the screen, or the `figure` of a view; `apart` says why its pixels are not those
    of the other frame."""
    said: list[str] = []
    if frame is not None and frame.picture is not None:
        first = frame.says if view is PictureView.PICTURE else figure or str(view)
        said = [first, *([apart] if apart else []), *frame.picture.remarks]
    if frame is not None and frame.longest != FULL:
        said.append("this is preview quality; the full frame is loading")
    return "; ".join(said)

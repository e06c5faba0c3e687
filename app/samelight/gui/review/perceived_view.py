"""The difference of two frames as somebody sees it, which is worked out beside the window."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QImage

from samelight.findings.words import sentence
from samelight.gui.background.background import Background
from samelight.gui.background.frames import Frame, codes_of, image_of
from samelight.gui.review.picture_views import NO_OTHER, OTHER_SIZE
from samelight.sources.pictures.perceived import Flipped, flipped

_Pair = tuple[QImage, QImage]


class PerceivedView(QObject):
    """Keeps the difference of the two frames that were told apart last."""

    changed = Signal()
    """What was asked for is there."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._background = Background(self)
        self._known: tuple[_Pair, QImage | None, str] | None = None
        self._making: _Pair | None = None

    @property
    def busy(self) -> bool:
        """Whether two frames are being told apart."""
        return self._background.busy

    def of(self, frame: Frame | None, other: Frame | None, apart: str) -> Frame | None:
        """A frame as its difference from another; `apart` says why the two show other things. None while it is not known yet."""
        if frame is None or frame.image is None:
            return frame
        if other is None or other.image is None:
            return replace(frame, image=None, problem=NO_OTHER)
        if apart:
            return replace(frame, image=None, problem=sentence(f"Another camera: {apart}."))
        if frame.longest != other.longest:
            return None  # one of the two is still read in full
        pair = frame.image, other.image
        if self._known is None or not _same(self._known[0], pair):
            is_asked = self._making is not None and _same(self._making, pair)
            if not is_asked or "perceived" not in self._background:
                self._making = pair
                self._background.run("perceived", partial(_told_apart, pair), partial(self._take, pair))
            return None
        problem = OTHER_SIZE if self._known[1] is None else ""
        return replace(frame, image=self._known[1], says=self._known[2], problem=problem)

    def stop(self) -> None:
        """Let go of what is worked out."""
        self._background.cancel_all()
        self._background.wait()

    def _take(self, pair: _Pair, found: Flipped | None) -> None:
        self._known = pair, None, ""
        if found is not None:
            says = f"FLIP {found.mean:.3f} in the mean, {found.most:.2f} at most (0 the same, 1 black from white)"
            self._known = pair, image_of(found.codes), says
        self.changed.emit()


def _same(one: _Pair, other: _Pair) -> bool:
    return all(a.cacheKey() == b.cacheKey() for a, b in zip(one, other, strict=True))


def _told_apart(pair: _Pair) -> Flipped | None:
    """The difference of two pictures; None where they have other sizes."""
    try:
        return flipped(*map(codes_of, pair))
    except ValueError:
        return None

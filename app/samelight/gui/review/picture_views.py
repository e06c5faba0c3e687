"""Ways to look at a frame: as a picture, in false colours, or by how far it is from the frame that it is compared with."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import replace
from enum import StrEnum

from samelight.gui.background.frames import Frame, image_of
from samelight.sources.pictures.false_colour import stops_apart, stops_from_grey
from samelight.sources.pictures.view_transform import Codes

_KEPT = 4
NO_OTHER = "There is no other frame to be told from."
OTHER_SIZE = "The other frame has another size: no pixel of it is this one's."


class PictureView(StrEnum):
    """How the pixels of a frame are shown."""

    PICTURE = "picture"
    STOPS = "stops from middle grey"
    DIFFERENCE = "difference in stops"
    PERCEIVED = "difference as seen (FLIP)"

    @property
    def is_difference(self) -> bool:
        """Whether another frame is needed."""
        return self in (PictureView.DIFFERENCE, PictureView.PERCEIVED)


SAYS = {
    PictureView.PICTURE: "",
    PictureView.STOPS: "A step is a stop from middle grey (0.18): colder below, warmer above.",
    PictureView.DIFFERENCE: "A step is half a stop from the frame that it is compared with: colder where darker, warmer where brighter.",
    PictureView.PERCEIVED: "How much the two differ to somebody who flips from one to the other, as they are shown now: dark where nothing is seen.",
}


class PictureViews:
    """Makes frames of another look; the last few are kept, so that a wipe follows the hand."""

    def __init__(self) -> None:
        self._kept: OrderedDict[tuple[PictureView, int, int], tuple[Frame, Frame | None, Frame]] = (
            OrderedDict()
        )

    def of(self, view: PictureView, frame: Frame | None, other: Frame | None = None) -> Frame | None:
        """A frame in a view, against another one where it is a difference."""
        if view is PictureView.PICTURE or frame is None or frame.picture is None:
            return frame
        against = other if view is PictureView.DIFFERENCE else None
        key = view, id(frame), id(against)
        known = self._kept.get(key)
        if known is None or known[0] is not frame or known[1] is not against:
            known = self._kept[key] = frame, against, _viewed(view, frame, against)
        self._kept.move_to_end(key)
        while len(self._kept) > _KEPT:
            self._kept.popitem(last=False)
        return known[2]


def _viewed(view: PictureView, frame: Frame, other: Frame | None) -> Frame:
    assert frame.picture is not None
    codes: Codes
    if view is PictureView.STOPS:
        codes = stops_from_grey(frame.picture.linear, frame.stops)
    elif other is None or other.picture is None:
        return replace(frame, image=None, problem=NO_OTHER)
    else:
        try:
            codes = stops_apart(frame.picture.linear, other.picture.linear)
        except ValueError:
            return replace(frame, image=None, problem=OTHER_SIZE)
    return replace(frame, image=image_of(codes))

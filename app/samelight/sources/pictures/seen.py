"""A picture as the screen shows it: exposed, and through a view of a colour config or, where there is none, by the sRGB curve."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

from samelight.sources.errors import CaptureError
from samelight.sources.limits import VIEW, VIEW_OF_A_MEGAPIXEL, Limits
from samelight.sources.pictures.colour_config import ColourConfigError, ColourView, viewed
from samelight.sources.pictures.pictures import Picture
from samelight.sources.pictures.view_transform import Codes, shown, view_text
from samelight.sources.trial import TooLongError, tried


class Through(NamedTuple):
    """What frames are seen through: a view, None for the plain sRGB curve. `space` is what an EXR is in that states no primaries."""

    view: ColourView | None = None
    space: str = "rec709"


PLAIN = Through()

_given_up: dict[ColourView, str] = {}
"""Views that took too long, and how that was told: no other picture waits for one as long again, until its config is edited."""


def _limits(picture: Picture) -> Limits:
    height, width = picture.linear.shape[:2]
    return VIEW._replace(seconds=VIEW.seconds + VIEW_OF_A_MEGAPIXEL * (height * width) // 2**20)


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """The codes of a picture, what was done to it in words, and why it is not seen through the view that was asked for."""

    codes: Codes
    says: str
    lacks: str = ""


def seen_through(picture: Picture, stops: float, through: Through) -> Seen:
    """A picture, exposed by `stops`. An 8-bit one was seen through a view when it was made, and one whose view cannot be used is seen
    by the plain curve. The view is worked out in a child process."""
    view = through.view if picture.scene else None
    if view is None:
        return Seen(shown(picture.linear, stops), view_text(picture, stops))
    lacks = _given_up.get(view, "")
    if not lacks:
        try:
            codes = tried(
                Path(view.config), _limits(picture), viewed, picture.linear, stops, view, through.space
            )
        except ColourConfigError as error:
            lacks = str(error)
        except CaptureError as error:
            lacks = f"the config is {error.fault.found}"
            if isinstance(error, TooLongError):
                _given_up[view] = lacks
        else:
            return Seen(codes, view_text(picture, stops, str(view)))
    lacks = f"the view {view} cannot be used: {lacks}"
    return Seen(shown(picture.linear, stops), f"{lacks}; {view_text(picture, stops)}", lacks)

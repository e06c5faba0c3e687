"""What HTML documents are made with: the templates, and the hash that lets a page run its own style and nothing else."""

from __future__ import annotations

import base64
import hashlib
from functools import lru_cache

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from samelight import __version__
from samelight.drift.words import counted, number_text
from samelight.reports.shown import hours_text, shown
from samelight.sheets.units import clock_text


@lru_cache(maxsize=1)
def environment() -> Environment:
    """The templates of this folder, which escape all that is put into them."""
    made = Environment(
        loader=PackageLoader("samelight.reports"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters.update(
        shown=shown,
        hours=hours_text,
        clock=lambda seconds: clock_text(round(seconds)),
        number=number_text,
    )
    return made


def source(name: str) -> str:
    """The text of a file beside the templates, as it is."""
    made = environment()
    loader = made.loader
    assert loader is not None
    return loader.get_source(made, name)[0]


def printed(template: str, **values: object) -> str:
    """A page to print, in the style of all of them; it needs no network, no server and no script."""
    style = source("pages.css")
    return (
        environment()
        .get_template(template)
        .render(
            style=Markup(style),
            style_hash=digest(style),
            counted=counted,
            program_version=__version__,
            **values,
        )
    )


def digest(text: str) -> str:
    """The hash by which a page's policy lets a style or a script of its own through, and no other."""
    return base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()

"""Saving a document from a window: where to, then written whole, and said in a sentence."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from pathlib import Path

from PySide6.QtWidgets import QFileDialog, QWidget

from samelight.gui.background.background import Background
from samelight.gui.widgets.boxes import warn
from samelight.gui.widgets.settings import Settings
from samelight.sequence.session import Session
from samelight.sheets.documents import write_document
from samelight.sheets.errors import SamelightError
from samelight.sheets.trees import BYTE_ORDER_MARK

MARKDOWN, CSV, HTML, TEXT = "Markdown (*.md)", "CSV (*.csv)", "Web page (*.html)", "Text (*.txt)"
_ENDINGS = {MARKDOWN: ".md", CSV: ".csv", HTML: ".html", TEXT: ".txt"}
FOLDER_KEY = "review_export"
"""Where the folder of the last document is remembered."""

Makers = Mapping[str, Callable[[], str | bytes]]
"""What can be written, by its kind, the first of them where no ending says it."""


def save_as(parent: QWidget, settings: Settings, title: str, stem: str, makers: Makers) -> str:
    """Ask for a file and write what its ending asks for; what was done in words, empty where nothing was."""
    place = _asked_for(parent, settings, title, stem, makers)
    if place is None:
        return ""
    try:
        write_document(place, makers[_kind_of(place, makers)]())
    except SamelightError as error:
        warn(parent, f"{title}: not done", str(error))
        return ""
    return _saved(settings, place)


def save_beside(
    background: Background,
    parent: QWidget,
    settings: Settings,
    title: str,
    stem: str,
    makers: Makers,
    say: Callable[[str], object],
) -> None:
    """As `save_as`, where it takes long to make what is written: the file is asked for first, and the window goes on."""
    place = _asked_for(parent, settings, title, stem, makers)
    if place is None:
        return
    make = makers[_kind_of(place, makers)]
    say(f"Making {place.name}…")
    background.run(
        place,
        lambda: write_document(place, make()),
        lambda _: say(_saved(settings, place)),
        lambda why: warn(parent, f"{title}: not done", why),
    )


def _asked_for(parent: QWidget, settings: Settings, title: str, stem: str, makers: Makers) -> Path | None:
    """The file that was asked for, with an ending that says its kind; None where none was."""
    first, *_ = makers
    folder = Path(settings.text(FOLDER_KEY) or Path.home())
    start = folder / f"{stem}{_ENDINGS[first]}"
    name, kind = QFileDialog.getSaveFileName(parent, title, str(start), ";;".join(makers))
    if not name:
        return None
    path = Path(name)
    if path.suffix.lower() not in (_ENDINGS[kind] for kind in makers):
        path = path.with_name(path.name + _ENDINGS[kind if kind in makers else first])
    return path


def _kind_of(path: Path, makers: Makers) -> str:
    return next(kind for kind in makers if _ENDINGS[kind] == path.suffix.lower())


def _saved(settings: Settings, path: Path) -> str:
    settings.keep(FOLDER_KEY, str(path.parent))
    return f"Saved {path.name}"


def save_notes(parent: QWidget, settings: Settings, session: Session, since: datetime | None) -> str:
    """Ask for a file and write what was said since a moment, or ever; what was done in words."""
    from samelight.reports.dailies_notes import as_csv, as_markdown, lines_of

    lines = lines_of(session.ledger.kept(), session.contents.shots, since, session.crew)
    if not lines:
        return "Nothing was said yet that could be saved"
    day = datetime.now().astimezone().strftime("%Y-%m-%d")
    makers: Makers = {
        MARKDOWN: lambda: as_markdown(f"Dailies of {session.contents.sequence.title}, {day}", lines),
        CSV: lambda: BYTE_ORDER_MARK + as_csv(lines),
    }
    stem = f"{session.contents.folder.resolve().name}-dailies-{day}"
    return save_as(parent, settings, "Save notes", stem, makers)

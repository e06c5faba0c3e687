"""`samelight report`: the state of a sequence as a document."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path

from samelight.cli.production import documents_folder, each_sequence, production_of, run_in_each
from samelight.cli.reading import add_jobs, opened, status_of, tell_troubles
from samelight.cli.shots import add_lighter, add_shots, asked_shots
from samelight.cli.terminal import COULD_NOT_RUN, complain, print_json, print_line, print_text
from samelight.reports.as_csv import report_csv
from samelight.reports.as_data import cell_data, check_data
from samelight.reports.as_junit import junit_text
from samelight.reports.as_markdown import report_markdown
from samelight.reports.lighter_pages import hand_over
from samelight.reports.pages_text import pages_text
from samelight.reports.report import Report, make_report
from samelight.sequence.session import Session
from samelight.sheets.documents import write_document
from samelight.sheets.errors import SamelightError
from samelight.sheets.production import is_production
from samelight.sheets.shot_lists import lighter_called
from samelight.sheets.trees import BYTE_ORDER_MARK
from samelight.sheets.writing import json_text

EXAMPLES = """examples:
  samelight report harbour -o harbour.html
  samelight report harbour -o harbour.csv --shots HB_050-HB_080
  samelight report harbour --format junit -o results.xml
  samelight report harbour --format markdown > harbour.md
  samelight report harbour --lighter Ines -o ines.html
  samelight report harbour --lighter Ines --format text
  samelight report harbour --format pages -o all_lighters.html
  samelight report harbour --format frames -o contact_sheet.html
"""


_WRITERS: dict[str, Callable[[Report], str]] = {
    "csv": report_csv,
    "markdown": report_markdown,
    "junit": junit_text,
}
PAGES, TEXT = "pages", "text"
"""What each lighter has to mend: as pages to print, and as plain text for a chat."""
FRAMES = "frames"
"""The shots as frames, to print."""
FORMATS = ("html", *_WRITERS, "json", PAGES, TEXT, FRAMES)
_BY_ENDING = {
    ".html": "html",
    ".htm": "html",
    ".csv": "csv",
    ".md": "markdown",
    ".markdown": "markdown",
    ".xml": "junit",
    ".json": "json",
    ".txt": TEXT,
}


DESCRIPTION = (
    "Write everything that differs from the master, why, and what was decided: as one HTML file that needs no "
    "network, as CSV, JSON or Markdown, or as JUnit XML with one test case a shot. With --lighter the HTML is that lighter's page: what to "
    "mend, where, by how much, what to set, and the frame; --format pages makes those of all lighters in one go, each on a sheet of paper of its own, "
    "and --format text the same for a chat. --format frames is the contact sheet to print: the shots as frames in cut order, with their marks and worst drifts. "
    "Exit status: 0 written; 2 not written, or not whole: a shot that was asked for is missing or unreadable, decisions cannot "
    "be read, or a part could not be drawn."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument("folder", type=Path, help="the sequence folder, or a production: a folder of these")
    parser.add_argument(
        "-o", "--output", type=Path, metavar="FILE", help="the file to write (default: print it)"
    )
    parser.add_argument("--format", choices=FORMATS, help="how to write it (default: by the file's ending)")
    add_shots(parser)
    add_lighter(parser)
    add_jobs(parser)


def run(arguments: argparse.Namespace) -> int:
    """Write the report. Raises `SamelightError` when the format is neither stated nor to be told from the file's name."""
    if is_production(arguments.folder):
        return _of_production(arguments)
    return _run(arguments)


def _of_production(arguments: argparse.Namespace) -> int:
    """The reports of all sequences: as JSON and JUnit one document, else a document each in a folder."""
    form = arguments.format or (
        "html" if arguments.output is None else _BY_ENDING.get(arguments.output.suffix.lower(), "html")
    )
    if form in ("json", "junit") and arguments.output is None:
        return run_in_each(arguments, _run, form)
    folder = documents_folder(arguments.output, form)
    ending = ".html" if form in (PAGES, FRAMES) else next(end for end, of in _BY_ENDING.items() if of == form)

    def run_one(own: argparse.Namespace) -> int:
        own.output, own.format = folder / f"{own.sequence_name}{ending}", form
        return _run(own)

    return max((ran.status for ran in each_sequence(arguments, production_of(arguments), run_one)), default=0)


def _run(arguments: argparse.Namespace) -> int:
    """Write the report of one sequence."""
    output: Path | None = arguments.output
    form = arguments.format or (
        TEXT if output is None and arguments.lighter is not None else format_of(output)
    )
    session = opened(arguments)
    shots = asked_shots(arguments, session)
    tell_troubles(session, shots)
    if form == FRAMES:
        return _frames(arguments, session, shots)
    if form in (PAGES, TEXT) or (form == "html" and arguments.lighter is not None):
        return _pages(arguments, session, shots, form)
    report = make_report(session, shots=frozenset(shots), made=datetime.now().astimezone())
    failed = report.failed
    if form == "json":
        _json(report, output)
    else:
        text, undrawn = _text(report, form)
        failed += undrawn
        if output is None:
            print_text(text)
        else:
            write_document(output, BYTE_ORDER_MARK + text if form == "csv" else text)
            print_line(str(output))
    for said in failed:
        complain(said)
    return COULD_NOT_RUN if failed else status_of(arguments, session, shots)


def _pages(arguments: argparse.Namespace, session: Session, shots: Sequence[str], form: str) -> int:
    """What each lighter has to mend, or the one that is asked for."""
    names = None
    if arguments.lighter is not None:
        names = [lighter_called(arguments.lighter, session.contents.sequence.lighters) or arguments.lighter]
    handed = hand_over(
        session, datetime.now().astimezone(), shots=frozenset(shots), names=names, with_pictures=form != TEXT
    )
    if form == TEXT:
        text = pages_text(handed)
    else:
        from samelight.reports.pages_html import pages_html  # with the template engine

        text = pages_html(handed)
    _write(arguments.output, text, handed.troubles)
    return COULD_NOT_RUN if handed.troubles else status_of(arguments, session, shots)


def _frames(arguments: argparse.Namespace, session: Session, shots: Sequence[str]) -> int:
    """The contact sheet."""
    from samelight.reports.contact_html import contact_html, contact_sheet  # with the template engine

    sheet = contact_sheet(session, datetime.now().astimezone(), frozenset(shots))
    _write(arguments.output, contact_html(sheet), sheet.troubles)
    return COULD_NOT_RUN if sheet.troubles else status_of(arguments, session, shots)


def _write(output: Path | None, text: str, troubles: Sequence[str]) -> None:
    """Write or print a document, and say what is not whole about it."""
    if output is None:
        print_text(text)
    else:
        write_document(output, text)
        print_line(str(output))
    for said in troubles:
        complain(said)


def _text(report: Report, form: str) -> tuple[str, tuple[str, ...]]:
    """The document, and what of it could not be drawn."""
    if form != "html":
        return _WRITERS[form](report), ()
    from samelight.reports.as_html import html_page  # with the template engine, which no other command needs

    page = html_page(report)
    return page.text, page.failed


def format_of(output: Path | None) -> str:
    """The format that a file's ending asks for. Raises `SamelightError` for another one, or without a file."""
    if output is None:
        raise SamelightError("say which format: --format html, or -o with a name that ends in .html")
    form = _BY_ENDING.get(output.suffix.lower())
    if form is None:
        raise SamelightError(
            f"{output}: expected a name that ends in {', '.join(_BY_ENDING)}; or state --format"
        )
    return form


def _json(report: Report, output: Path | None) -> None:
    data = check_data(
        report.title,
        report.master,
        (),
        report.findings,
        dict(report.counts),
        troubles=report.troubles,
        north=report.north,
        shots=[shot.name for shot in report.shots],
        tally=report.tally,
        ledger=report.ledger,
        held=report.held,
        crew=report.crew,
        tallies=report.tallies,
    )
    data["cells"] = [
        cell_data(line.cell, line.state, report.north, line.follows)
        for shot in report.shots
        for line in shot.lines
    ]
    if output is None:
        print_json(data)
    else:
        # Half a character stands for a byte of a name that is no UTF-8; JSON has a spelling for it, and UTF-8 none.
        write_document(output, json_text(data).encode("utf-8", "backslashreplace"))
        print_line(str(output))

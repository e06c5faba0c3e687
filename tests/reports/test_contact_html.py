"""The contact sheet to print: every shot in cut order with its frame, and what its cells say of it."""

from __future__ import annotations

import re
import shutil
from pathlib import Path
from typing import Any

import pytest

from ocio_configs import write_config
from report_help import MADE
from samelight.cli.main import main
from samelight.gui.state.contact_data import Lay, shot_frames
from samelight.gui.state.rows import GridState
from samelight.reports import lighter_pages
from samelight.reports.contact_html import PrintedSheet, contact_html, contact_sheet
from samelight.reports.lighter_pages import pictures_of
from samelight.sequence.session import Session, open_session
from samelight.sheets.resources import sample_sequence
from samelight.sources.pictures.colour_config import ColourView
from samelight.sources.trial import tried


@pytest.fixture(scope="module")
def session() -> Session:
    return open_session(sample_sequence("harbour"))


@pytest.fixture(scope="module")
def sheet(session: Session) -> PrintedSheet:
    return contact_sheet(session, MADE)


def test_it_says_what_the_window_says(session: Session, sheet: PrintedSheet) -> None:
    """The same shots in the same order, with the same lighters, figures and worst drifts."""
    shown = {one.shot: one for one in shot_frames(GridState(session), Lay.CUT)}
    assert [frame.shot for frame in sheet.frames] == list(shown) == list(session.contents.shots)
    for frame in sheet.frames:
        one = shown[frame.shot]
        assert (frame.lighter, frame.undecided) == (one.lighter, one.undecided)
        assert frame.worst == one.worst
    assert {frame.shot for frame in sheet.frames if frame.picture is None} == {"HB_170"}
    assert sheet.troubles == ()


def test_each_shot_has_a_picture_or_says_that_there_is_none(sheet: PrintedSheet) -> None:
    text = contact_html(sheet)
    assert text.count("<figure>") == len(sheet.frames)
    assert text.count("data:image/png;base64,") == len(sheet.frames) - 1 and text.count("no frame") == 1
    assert not re.search(r"https?://|<script", text)


def test_only_the_shots_asked_for_and_a_damaged_frame_is_a_sentence(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "harbour"
    shutil.copytree(sample_sequence("harbour"), folder)
    frame = next((folder / "frames").glob("HB_020.*"))
    frame.write_bytes(frame.read_bytes()[:200])
    written = tmp_path / "sheet.html"
    asked = ["report", str(folder), "--format", "frames", "--shots", "HB_010-HB_030", "-o", str(written)]
    assert main(asked) == 2
    assert "The frame of HB_020 cannot be shown" in capsys.readouterr().err
    text = written.read_text(encoding="utf-8")
    assert text.count("<figure>") == 3 and text.count("no frame") == 1 and "HB_040" not in text


def test_frames_are_printed_through_the_view_of_the_config(
    session: Session, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    plain, said = pictures_of(session, ["HB_040"])
    assert said == ()
    monkeypatch.setenv("OCIO", str(write_config(tmp_path / "show.ocio")))
    seen, said = pictures_of(session, ["HB_040"])
    assert said == () and seen["HB_040"].data != plain["HB_040"].data
    table = "!<FileTransform> {src: gone.cube}"
    monkeypatch.setenv("OCIO", str(write_config(tmp_path / "lut.ocio", table)))
    asked: list[ColourView | None] = []

    def counted(path: Path, *args: Any) -> Any:
        asked.append(args[-1].view)
        return tried(path, *args)

    monkeypatch.setattr(lighter_pages, "tried", counted)
    seen, (why,) = pictures_of(session, ["HB_040", "HB_030"])
    assert seen["HB_040"].data == plain["HB_040"].data and "HB_030" in seen
    assert [view is None for view in asked] == [False, True]
    assert why.startswith("Frames are shown by the sRGB curve: the view Film, Desk cannot be used: ")
    assert "gone.cube" in why
    monkeypatch.setenv("OCIO", str(tmp_path / "gone.ocio"))
    assert pictures_of(session, []) == ({}, ())
    seen, said = pictures_of(session, ["HB_040"])
    assert seen["HB_040"].data == plain["HB_040"].data
    assert said == (
        "Frames are shown by the sRGB curve: environment: OCIO: expected an OpenColorIO config that can be read, "
        "found gone.ocio: it is not there.",
    )

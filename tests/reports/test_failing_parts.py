"""A part of a document, or of what is computed, that fails takes none of the others along, and is said; the status is 2."""

from __future__ import annotations

from pathlib import Path

import pytest

from samelight.cli.main import main
from samelight.drift.computed import derived
from samelight.reports import as_html, report
from samelight.sequence.session import open_session
from samelight.sheets import unforeseen

FAILS = "ZeroDivisionError: made to fail"


def fails(*_: object) -> list[object]:
    raise ZeroDivisionError("made to fail")


@pytest.fixture(autouse=True)
def _log(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(unforeseen, "kept_errors", lambda: tmp_path / "log")


@pytest.mark.parametrize(
    ("function", "what", "lost", "left"),
    [
        ("ray_rows", "The computed rows of rays", "rays.", "count.lights"),
        ("sky_rows", "The computed rows of the sky", "sky.", "count.lights"),
        ("level_rows", "The computed rows at the mark", "marks.", "count.lights"),
        ("rig_of", "The computed rows of lights and environments", "marks.", "count.lights"),
        ("_count_row", "The number of lights", "count.", "marks."),
    ],
)
def test_computed_rows_that_fail_are_named_and_the_others_stand(
    harbour: Path, monkeypatch: pytest.MonkeyPatch, function: str, what: str, lost: str, left: str
) -> None:
    whole = [row.parameter for row in open_session(harbour).table.rows]
    monkeypatch.setattr(derived, function, fails)
    session = open_session(harbour)
    rows = [row.parameter for row in session.table.rows]
    assert not any(name.startswith(lost) for name in rows) and any(name.startswith(left) for name in rows)
    assert [name for name in whole if "." in name and name in rows] == rows
    said = [trouble.says for trouble in session.troubles if trouble.failed]
    assert said and all(one.startswith(what) and f"could not be worked out: {FAILS}" in one for one in said)
    assert session.cases.findings and not session.whole
    session.refresh_findings()
    assert [trouble.says for trouble in session.troubles if trouble.failed] == said
    monkeypatch.undo()
    (harbour / "shots/HB_120/HB_120.v003.yaml").write_bytes(
        (harbour / "shots/HB_120/HB_120.v001.yaml").read_bytes()
    )
    assert session.reload()
    assert bool(session.whole)
    assert {row.parameter for row in session.table.rows} == set(whole)


def test_check_tells_everything_else_and_ends_with_2(
    harbour: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(derived, "sky_rows", fails)
    assert main(["check", str(harbour)]) == 2
    told = capsys.readouterr()
    assert "The computed rows of the sky could not be worked out" in told.err and "HB_120" in told.out


@pytest.mark.parametrize(
    ("function", "part", "kept"),
    [
        ("heat_map", "The picture of the sequence at a glance", 'id="plan"'),
        ("light_plots", "The plots of the lights", "<rect class="),
        ("standing_text", "The list of findings", "<rect class="),
        ("_cell", "The table of a shot's cells", "<rect class="),
    ],
)
def test_a_part_of_the_page_that_fails_leaves_the_others(
    harbour: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    function: str,
    part: str,
    kept: str,
) -> None:
    monkeypatch.setattr(as_html, function, fails)
    page = tmp_path / "page.html"
    assert main(["report", str(harbour), "-o", str(page)]) == 2
    told, text = capsys.readouterr(), page.read_text("utf-8")
    assert f"{part} could not be drawn: {FAILS}" in told.err and "Traceback" not in told.err
    assert text.count("</html>") == 1 and kept in text
    first = text.index("Read this first")
    assert first < text.index("made to fail") < text.index('id="glance"')
    assert "could not be drawn: see above" in text


def test_a_render_plan_that_fails_is_said_in_every_document(
    harbour: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(report, "render_plan", fails)
    for ending in ("html", "md", "csv", "xml", "json"):
        path = tmp_path / f"page.{ending}"
        assert main(["report", str(harbour), "-o", str(path)]) == 2
        assert "The render plan could not be worked out" in capsys.readouterr().err
        assert "window" in path.read_text("utf-8")

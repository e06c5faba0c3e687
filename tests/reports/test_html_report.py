"""The HTML report: one file, complete, readable in a browser with and without its script."""

from __future__ import annotations

import re
import struct
import zlib
from html.parser import HTMLParser
from pathlib import Path
from typing import NamedTuple

import pytest

from conftest import MakeSequence
from report_help import browse, browser, report_of
from samelight.decisions.state import State
from samelight.drift.cells import Grade
from samelight.reports import as_html, html_heat
from samelight.reports.as_html import html_text
from samelight.reports.html_heat import heat_map, step_of
from samelight.reports.html_parts import digest
from samelight.reports.html_traces import light_plots
from samelight.reports.shown import shown as shown_text
from samelight.reports.signs import STATE_MARKS
from samelight.sequence.session import open_session

VOID = {"meta", "br", "input", "wbr", "link"}


class Page(HTMLParser):
    """What a page holds: elements with their attributes, and whether they are well nested."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.texts: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open and self.open[-1] == tag, (tag, self.open[-3:])
        self.open.pop()

    def handle_data(self, data: str) -> None:
        self.texts.append(data)

    def all(self, tag: str) -> list[dict[str, str | None]]:
        return [attributes for name, attributes in self.elements if name == tag]


@pytest.fixture(scope="module")
def text(tmp_path_factory: pytest.TempPathFactory) -> str:
    from samelight.sheets.resources import sample_sequence

    return html_text(report_of(sample_sequence("harbour")))


@pytest.fixture(scope="module")
def page(text: str) -> Page:
    return Page(text)


def test_it_is_one_well_formed_page(page: Page) -> None:
    assert page.open == []
    assert len(page.all("html")) == len(page.all("main")) == len(page.all("h1")) == 1
    ids = [attributes["id"] for _, attributes in page.elements if "id" in attributes]
    assert len(ids) == len(set(ids))


def test_it_needs_nothing_from_anywhere(text: str, page: Page) -> None:
    assert not re.search(r"https?://|url\(|@import|<img|<iframe|<object", text)
    for _, attributes in page.elements:
        assert "src" not in attributes
        assert (attributes.get("href") or "#").startswith("#")


def test_every_link_leads_somewhere(page: Page) -> None:
    ids = {attributes.get("id") for _, attributes in page.elements}
    for link in page.all("a"):
        assert (link["href"] or "").removeprefix("#") in ids


def test_only_its_own_style_and_script_may_run(text: str, page: Page) -> None:
    policy = next(
        meta["content"] or ""
        for meta in page.all("meta")
        if meta.get("http-equiv") == "Content-Security-Policy"
    )
    assert "default-src 'none'" in policy
    assert "unsafe-inline" not in policy
    for kind in ("style", "script"):
        [source] = re.findall(f"<{kind}>(.*?)</{kind}>", text, re.DOTALL)
        assert f"'sha256-{digest(source)}'" in policy
    assert not any(
        name.startswith("on") or name == "style" for _, attributes in page.elements for name in attributes
    )


def test_it_says_what_the_session_says(text: str, harbour: Path) -> None:
    session = open_session(harbour)
    shown = re.sub(r"<wbr>", "", text)
    for row, column in session.cases.unsettled_cells():
        cell = session.table.cell(row, column)
        assert f">{cell.parameter}</th>" in shown
    tally = session.cases.tally()
    assert all(f"{STATE_MARKS[state]} {state}" in text for state in State if STATE_MARKS[state])
    assert f"<b>{tally.undecided}</b> undecided" in text
    assert f"<b>{tally.sent_back}</b> ← sent back" in text
    assert f"<b>{tally.intended}</b> ✓ intended" in text
    for case in session.cases.unsettled_cases():
        assert f">{case.parameter}</th>" in shown
    for finding in session.cases.findings:
        assert shown_text(finding.says, 1000).split("'")[0] in text


def test_reasons_of_decisions_are_told(text: str) -> None:
    assert "Nudged by accident; put it back." in text
    assert "✓ intended" in text
    assert "← sent back" in text


def test_pictures_have_a_text_in_their_place(page: Page) -> None:
    for picture in page.all("svg"):
        assert picture["role"] == "img"
        assert picture.get("aria-label") or picture.get("aria-labelledby")
    labels = [picture["aria-label"] or "" for picture in page.all("svg") if picture.get("aria-label")]
    assert any(
        "azimuth over 24 shots, from 131° to 143°, master 131°; out of tolerance in HB_050" in x
        for x in labels
    )


def test_the_heat_map_shows_each_cell_that_is_not_the_masters(harbour: Path) -> None:
    report = report_of(harbour)
    picture = heat_map(report)
    assert not picture.grouped
    spots = [spot for band in picture.bands for spot in band.spots]
    assert len(spots) == sum(len(shot.lines) for shot in report.shots)
    sun = [spot for spot in spots if "lights.sun.direction" in spot.says]
    assert [spot.says.split(",")[0] for spot in sun] == ["HB_050", "HB_060", "HB_070", "HB_080"]
    assert all(spot.sign == "■" for spot in sun)
    meant = [spot for spot in spots if "intended" in spot.says]
    assert meant and all(spot.framed and "✓" in spot.sign for spot in meant)
    assert not any(spot.framed for spot in sun)


def test_many_shots_make_bands_and_shapes(
    make_sequence: MakeSequence, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(html_heat, "MOST_SHOTS", 4)
    monkeypatch.setattr(html_heat, "MOST_LINKS", 5)
    shots = {f"QU_{number:03d}": light(1.0 + (number > 1)) for number in range(10)}
    report = report_of(make_sequence(master=light(1.0), shots=shots))
    picture = heat_map(report)
    assert [len(band.shots) for band in picture.bands] == [4, 4, 2]
    assert all(band.shapes and not band.spots for band in picture.bands)
    # Neighbours of one colour are one stroke.
    strokes = [sum(path.count("M") for _, path in band.shapes) for band in picture.bands]
    assert strokes == [len(picture.rows)] * 3
    page = Page(html_text(report))
    assert len([svg for svg in page.all("svg") if "data-shots" in svg]) == 3


def light(intensity: float) -> dict[str, object]:
    return {"lights": {"key": {"type": "point", "position": [0, 1, 0], "intensity": intensity}}}


def test_many_rows_are_grouped(make_sequence: MakeSequence, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(html_heat, "MOST_ROWS", 3)
    master = {"render": {"gi": {f"rays_{n}": 1 for n in range(5)}, "volume": {"samples": 4}}}
    shot = {"render": {"gi": {f"rays_{n}": 2 for n in range(5)}, "volume": {"samples": 2}}}
    picture = heat_map(report_of(make_sequence(master=master, shots={"QU_010": shot})))
    assert picture.grouped
    assert [name.text for name in picture.rows] == ["render.gi", "render.volume"]


def test_more_drift_is_a_higher_step() -> None:
    steps = [step_of(severity) for severity in (0.0, 0.5, 1.0, 1.1, 3.0, 10.0, 30.0)]
    assert steps == sorted(steps)
    assert {step for step, _, _ in html_heat.colour_steps()} >= set(steps) - {0}


def test_plots_show_lights_of_which_something_drifts(harbour: Path) -> None:
    plots = {light.name: light.plots for light in light_plots(report_of(harbour))}
    assert "lights.sun" in plots
    assert "lights.boat_lamp1" not in plots  # the master has none: nothing to hold it against
    azimuth = next(plot for plot in plots["lights.sun"] if plot.title == "azimuth")
    assert [dot.says for dot in azimuth.dots if dot.out] == [f"HB_0{n}0: 143°" for n in range(5, 9)]
    elevation = next(plot for plot in plots["lights.sun"] if plot.title == "elevation")
    assert not any(dot.out for dot in elevation.dots)


def test_a_sequence_without_a_master_and_one_without_drift(make_sequence: MakeSequence) -> None:
    bare = html_text(report_of(make_sequence("bare", shots={"QU_010": light(1.0)})))
    assert "No master setup to compare with" in bare
    same = html_text(report_of(make_sequence("same", master=light(1.0), shots={"QU_010": light(1.0)})))
    assert "Nothing differs from the master." in same
    assert Page(bare).open == Page(same).open == []


def test_a_shot_that_cannot_be_read(harbour: Path) -> None:
    (harbour / "shots/HB_120/HB_120.v002.yaml").write_text("lighst: {}", encoding="utf-8")
    text = html_text(report_of(harbour))
    assert "<b>1</b> shots not readable" in text
    assert "HB_120" in text and "lighst" in text


def test_many_cells_are_folded(harbour: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shots = Page(html_text(report_of(harbour))).all("details")
    assert shots and all("open" in shot for shot in shots)
    monkeypatch.setattr(as_html, "MOST_OPENED", 3)
    assert not any("open" in shot for shot in Page(html_text(report_of(harbour))).all("details"))


def test_some_shots_only(harbour: Path) -> None:
    report = report_of(harbour, shots=frozenset({"HB_120", "HB_050"}))
    assert [shot.name for shot in report.shots] == ["HB_050", "HB_120"]
    assert report.counts[Grade.BREAK.word] == sum(
        line.cell.grade is Grade.BREAK for shot in report.shots for line in shot.lines
    )
    assert "HB_180" not in html_text(report)


def png_of(path: Path) -> tuple[int, int, set[int]]:
    """Width, height and the bytes that occur in the picture's lines."""
    data = path.read_bytes()
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    width, height = struct.unpack(">II", data[16:24])
    packed, at = b"", 8
    while at < len(data):
        length = struct.unpack(">I", data[at : at + 4])[0]
        if data[at + 4 : at + 8] == b"IDAT":
            packed += data[at + 8 : at + 8 + length]
        at += 12 + length
    return width, height, set(zlib.decompress(packed))


class Browsed(NamedTuple):
    """What a browser made of the page: its picture, its elements after the script, and the pages on paper."""

    picture: Path
    document: str
    paper: Path


@pytest.fixture(scope="module")
def browsed(text: str, tmp_path_factory: pytest.TempPathFactory) -> Browsed:
    program = browser()
    if program is None:
        pytest.skip("no Chromium on this machine")
    folder = tmp_path_factory.mktemp("browsed")
    page, picture, paper = (folder / f"harbour.{ending}" for ending in ("html", "png", "pdf"))
    page.write_text(text, encoding="utf-8")
    wanted = (
        *("--window-size=1280,1600", f"--screenshot={picture}"),
        *("--dump-dom", "--no-pdf-header-footer", f"--print-to-pdf={paper}"),
    )
    return Browsed(picture, browse(program, page, folder / "profile", *wanted), paper)


def test_a_browser_draws_it(browsed: Browsed) -> None:
    width, height, values = png_of(browsed.picture)
    assert (width, height) == (1280, 1600)
    assert len(values) > 100
    # Its own script ran under its own policy: headings became buttons, and the narrowing is there.
    assert 'class="scripted"' in browsed.document
    assert browsed.document.count("<button type=") > 20


def test_a_browser_prints_it_whole(browsed: Browsed) -> None:
    data = browsed.paper.read_bytes()
    assert data.startswith(b"%PDF-")
    boxes = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", data)
    assert len(boxes) > 4
    # A4 is 210 x 297 mm (ISO 216): 595.3 x 841.9 points.
    assert all(abs(float(w) - 595.3) < 1 and abs(float(h) - 841.9) < 1 for w, h in boxes)

"""What each lighter has to mend: shot by shot, the most harmful first, with what to set and the marks in the frame."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from conftest import MakeSequence
from measured_sequence import measure, sequence, shoot, tree
from report_help import MADE
from samelight.cli.main import main
from samelight.decisions.decision import Verb
from samelight.reports.lighter_pages import HandOver, Task, hand_over, lighter_pages
from samelight.reports.pages_html import pages_html, rings
from samelight.reports.pages_text import pages_text
from samelight.sequence.crew import NOBODY
from samelight.sequence.session import Session, open_session
from samelight.sheets.resources import sample_sequence
from samelight.sheets.writing import write_sheet


@pytest.fixture(scope="module")
def session() -> Session:
    return open_session(sample_sequence("harbour"))


@pytest.fixture(scope="module")
def handed(session: Session) -> HandOver:
    return hand_over(session, MADE, with_pictures=False)


def tasks(handed: HandOver) -> dict[tuple[str, str], Task]:
    return {
        (part.shot, task.parameter): task
        for page in handed.pages
        for part in page.shots
        for task in part.tasks
    }


def test_every_case_is_on_the_page_of_its_lighter_the_most_harmful_first(
    session: Session, handed: HandOver
) -> None:
    table = session.table
    cells = {
        (table.shots[column], table.rows[row].parameter) for row, column in session.cases.unsettled_cells()
    }
    cases = {(case.shot, case.parameter) for case in session.cases.unsettled_cases()}
    assert cells | cases == set(tasks(handed))
    assert [page.lighter for page in handed.pages] == ["Ines", "Tomas"]
    for page in handed.pages:
        assert {part.shot for part in page.shots} <= set(session.crew.shots[page.lighter])
        worst = [part.tasks[0].harm for part in page.shots]
        assert worst == sorted(worst)
        assert all(
            [task.harm for task in part.tasks] == sorted(t.harm for t in part.tasks) for part in page.shots
        )
    assert handed.pages[1].shots[0].shot == session.cases.findings[0].shots[0] == "HB_130"


@pytest.mark.parametrize(
    ("shot", "parameter", "put"),
    [
        ("HB_050", "lights.sun.direction", "azimuth: 131 (now 143)"),
        ("HB_060", "lights.sun.direction", "azimuth: 131 deg (now 143 deg)"),
        ("HB_080", "lights.sun.direction", "rotation: [-24, 49, 0] (now [-24, 37, 0])"),
        ("HB_220", "findings.one-frame.background", ""),
    ],
)
def test_what_to_set_is_as_the_shot_spells_it(handed: HandOver, shot: str, parameter: str, put: str) -> None:
    task = tasks(handed)[shot, parameter]
    assert task.put == put
    assert bool(task.advice) is not bool(put)
    text, page = pages_text(handed), pages_html(handed)
    assert parameter in text and parameter in page
    for said in (task.put or task.advice, task.off):
        assert said in text and said in page


def test_what_was_sent_back_says_why_and_by_whom_also_inside_its_tolerance(
    make_sequence: MakeSequence,
) -> None:
    lamp = {"type": "disk", "position": [0, 2, 0], "target": [0, 0, 0], "intensity": 1, "normalize": True}
    folder = make_sequence(
        master={"lights": {"rim": lamp}},
        shots={
            "A": {"lights": {"rim": lamp}},
            "B": [{"lights": {"rim": {**lamp, "exposure": 1}}}],
            "C": {"lights": {"rim": {**lamp, "intensity": 4}}},
        },
        sequence={"lighters": {"Tomas": ["A", "B"]}},
    )
    session = open_session(folder)
    (cell,) = session.table.places([("B", "lights.rim.level")])
    session.decide(Verb.RETURN, [cell], "mira", "as in the master")
    (task,) = next(lighter_pages(session)).shots[0].tasks
    assert (task.put, task.state) == ("exposure: 0 (now 1)", "sent back")
    assert len(task.why) == 1 and re.fullmatch(r"mira, \d{4}-\d\d-\d\d: as in the master", task.why[0])
    assert [page.lighter for page in lighter_pages(session)] == ["Tomas", NOBODY]
    assert [page.lighter for page in lighter_pages(session, {"C"}, ["Tomas"])] == []

    stated = {"samelight": 2, "shot": "B", "version": 2}
    write_sheet(folder / "shots/B/B.v002.yaml", {**stated, "lights": {"rim": lamp}})
    session.reload()
    assert [page.lighter for page in lighter_pages(session)] == [NOBODY]  # it waits for whoever sent it back
    session.decide(Verb.RETURN, [cell], "mira", "now it is flat")
    (flat,) = next(lighter_pages(session)).shots[0].tasks
    assert flat.why[-1].endswith("now it is flat") and flat.state == "sent back"


def test_the_frame_is_on_the_page_with_its_marks(tmp_path: Path) -> None:
    folder = sequence(tmp_path / "quay", {"A": tree(), "B": tree(0.4)})
    shoot(folder, "B", tree(0.4), times=0.5)
    measure(folder, "A", "B")
    handed = hand_over(open_session(folder), MADE)
    picture = handed.pictures["B"]
    assert (picture.width, picture.height) == (240, 135)
    (ring,) = rings(picture)
    assert (ring.x / 240, ring.y / 135) == pytest.approx((0.5 + 0.4 / 1.8, 0.5), abs=0.01)
    assert ring.is_off
    page = pages_html(handed)
    assert page.count('<image href="data:image/png;base64,iVBORw0KGgo') == 1
    assert 'class="ring off"' in page


def test_the_command_prints_one_lighters_page_and_all_in_one_go(
    harbour: Path, capsys: pytest.CaptureFixture[str], readers_stay: None
) -> None:
    assert main(["report", str(harbour), "--lighter", "ines"]) == 0
    text = capsys.readouterr().out
    assert text.startswith("Ines: 5 things to mend in 5 shots of Harbour, against master v003\n")
    assert "HB_130" not in text
    (harbour / "frames/HB_050.png").write_bytes(b"\x89PNG\r\n\x1a\n, and no more")
    one, every = harbour.parent / "ines.html", harbour.parent / "all.html"
    assert main(["report", str(harbour), "--lighter", "Ines", "-o", str(one)]) == 2
    assert "The frame of HB_050 cannot be shown" in capsys.readouterr().err
    asked = ["report", str(harbour), "--format", "pages", "--shots", "HB_130,HB_060", "-o", str(every)]
    assert main(asked) == 0
    pages = [path.read_text(encoding="utf-8").count("<article>") for path in (one, every)]
    assert pages == [1, 2]
    assert one.read_text(encoding="utf-8").count("<image ") == 4

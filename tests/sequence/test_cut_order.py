"""A sequence whose cut order comes from a cut file."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import opentimelineio as otio
import pytest

from conftest import MakeSequence
from samelight.cli.main import main
from samelight.sequence.cut_order import cut_order
from samelight.sequence.session import Session, open_session
from samelight.sheets.sequence import read_sequence

LAMP = {"lights": {"lamp": {"type": "point", "position": [0, 1, 0], "intensity": 2}}}


@pytest.fixture
def opened(make_sequence: MakeSequence) -> Callable[..., Session]:
    """A sequence with folders for QU_010 to QU_030, whose cut file holds these clips."""

    def make(*clips: str, text: str | None = None) -> Session:
        shots: dict[str, Any] = {f"QU_0{number}0": LAMP for number in (1, 2, 3)}
        folder = make_sequence(master=LAMP, shots=shots, sequence={"cut": "edit/cut.otio"})
        path = folder / "edit" / "cut.otio"
        path.parent.mkdir()
        time = otio.opentime.RationalTime
        track = otio.schema.Track("", kind="Video")
        for name in clips:
            track.append(
                otio.schema.Clip(name, source_range=otio.opentime.TimeRange(time(1009, 24), time(24, 24)))
            )
        timeline = otio.schema.Timeline("quay")
        timeline.tracks.append(track)
        otio.adapters.write_to_file(timeline, str(path))
        if text is not None:
            path.write_text(text)
        return open_session(folder)

    return make


def said(session: Session) -> list[str]:
    return [trouble.says for trouble in session.troubles]


def test_the_order_is_that_of_the_cut(opened: Callable[..., Session]) -> None:
    session = opened("QU_030", "QU_010_comp_v003", "QU_020.mov")
    assert session.contents.shots == ("QU_030", "QU_010", "QU_020")
    assert said(session) == []
    cut = session.contents.cut
    assert cut is not None
    assert [use.seen for use in cut.uses] == [(1009, 1032)] * 3


def test_what_does_not_agree_is_told(opened: Callable[..., Session]) -> None:
    session = opened("QU_020", "QU_010", "QU_040", "QU_020", "..", "a/b")
    assert session.contents.shots == ("QU_020", "QU_010", "QU_040")
    assert said(session)[:4] == [
        "In cut.otio, used more than once, shown at the first use: QU_020.",
        "In cut.otio, without a folder in shots: QU_040.",
        "In cut.otio, left out, since no shot can be called so: .., a/b.",
        "Not in the cut, and so not shown: QU_030.",
    ]
    assert "QU_040" in session.unreadable()


def test_a_cut_that_cannot_be_read_stops_nothing(opened: Callable[..., Session]) -> None:
    session = opened("QU_020", text="{")
    assert session.contents.shots == ("QU_010", "QU_020", "QU_030")
    (trouble,) = session.troubles
    assert "The cut cannot be read" in trouble.says
    assert "cut.otio" in trouble.faults[0].file


def test_a_cut_that_changed_is_read_again(opened: Callable[..., Session]) -> None:
    session = opened("QU_030", "QU_020", "QU_010")
    path: Path = session.contents.folder / "edit" / "cut.otio"
    path.write_text(
        path.read_text().replace("QU_030", "QU_0x0").replace("QU_010", "QU_030").replace("QU_0x0", "QU_010")
    )
    assert session.reload()
    assert session.contents.shots == ("QU_010", "QU_020", "QU_030")
    assert not session.reload()


def test_the_order_is_the_same_until_anything_it_hangs_on_changes(make_sequence: MakeSequence) -> None:
    folder = make_sequence(master=LAMP, shots={"QU_010": LAMP, "QU_020": LAMP})
    sequence = read_sequence(folder)
    first = cut_order(sequence, None)
    assert cut_order(sequence, None, first) is first
    (folder / "shots/QU_030").mkdir()
    second = cut_order(sequence, None, first)
    assert [trouble.says for trouble in second.troubles] == ["Not in the cut, and so not shown: QU_030."]
    assert cut_order(read_sequence(folder), None, second) is not second
    (folder / "shots/QU_030").rmdir()
    assert cut_order(sequence, None, second) == first


EDL = """TITLE: QUAY

001  QU_010  V  C  00:00:42:01 00:00:43:01 01:00:00:00 01:00:01:00
002  QU_030  V  C  00:00:42:01 00:00:43:01 01:00:01:00 01:00:02:00
003  QU_020  V  C  00:00:42:01 00:00:43:01 01:00:02:00 01:00:03:00
"""
"""QU_010-QU_030 are two shots here, and three by the order of their names."""


class TestRuns:
    """What a run of shots is, the cut alone says."""

    @pytest.fixture
    def folder(self, make_sequence: MakeSequence) -> Path:
        shots: dict[str, Any] = {f"QU_0{number}0": LAMP for number in (1, 2, 3)}
        stated = {"cut": "cut.edl", "lighters": {"Ines": ["QU_010-QU_030"], "Tomas": ["QU_020"]}}
        folder = make_sequence(master=LAMP, shots=shots, sequence=stated)
        (folder / "cut.edl").write_text(EDL)
        return folder

    DAMAGED = (
        "",
        "TITLE: QUAY\n",
        EDL[:-30],
        EDL.replace("002", "0x2"),
        EDL.replace("01:00:02:00\n", "01:x0\n"),
    )

    COMMANDS = (
        ("check", "--shots", "QU_010-QU_030"),
        ("check", "--lighter", "Ines"),
        ("check", "--shots", "QU_020", "--lighter", "Ines"),
        ("check", "--shots", "QU_010-QU_030", "--save-part", "{out}"),
        ("fix", "--shots", "QU_010-QU_030"),
        ("plan", "--shots", "QU_010-QU_030"),
        ("report", "--lighter", "Ines", "-o", "{out}"),
        ("report", "--shots", "QU_010-QU_030", "-o", "{out}"),
    )

    @pytest.mark.parametrize("words", COMMANDS, ids=" ".join)
    @pytest.mark.parametrize("damaged", DAMAGED)
    def test_need_a_cut_that_can_be_read(
        self,
        folder: Path,
        words: tuple[str, ...],
        damaged: str,
        tmp_path: Path,
        capsys: pytest.CaptureFixture[str],
    ) -> None:
        command, *more = (word.format(out=tmp_path / "out.html") for word in words)
        assert main([command, str(folder), *more]) == 0
        capsys.readouterr()
        (tmp_path / "out.html").unlink(missing_ok=True)
        (folder / "cut.edl").write_text(damaged)
        assert main([command, str(folder), *more]) == 2
        told = capsys.readouterr().err
        assert "QU_010-QU_030 is a run of the cut, which cannot be read: name each shot" in told
        assert not (tmp_path / "out.html").exists()

    def test_nothing_is_decided_on_a_run_that_nobody_knows(
        self, folder: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        (folder / "cut.edl").write_text("TITLE:")
        words = ["decide", str(folder), "intend", "QU_010-QU_030", "lights.*", "--reason", "meant"]
        assert main(words) == 2
        assert "is a run of the cut" in capsys.readouterr().err
        assert not (folder / "decisions").exists()

    def test_shots_by_their_names_need_none(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
        (folder / "cut.edl").write_text("TITLE:")
        assert main(["check", str(folder), "--shots", "QU_010,QU_030"]) == 0
        assert main(["check", str(folder), "--lighter", "Tomas"]) == 0
        assert "lighters, Ines: QU_010-QU_030 is a run of the cut" in capsys.readouterr().err

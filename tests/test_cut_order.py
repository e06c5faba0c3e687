"""A sequence whose cut order comes from a cut file."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import opentimelineio as otio
import pytest

from conftest import MakeSequence
from samelight.cut_order import cut_order
from samelight.session import Session, open_session
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
    assert session.shots == ("QU_030", "QU_010", "QU_020")
    assert said(session) == []
    cut = session.contents.cut
    assert cut is not None
    assert [use.seen for use in cut.uses] == [(1009, 1032)] * 3


def test_what_does_not_agree_is_told(opened: Callable[..., Session]) -> None:
    session = opened("QU_020", "QU_010", "QU_040", "QU_020", "..", "a/b")
    assert session.shots == ("QU_020", "QU_010", "QU_040")
    assert said(session)[:4] == [
        "In cut.otio, used more than once, shown at the first use: QU_020.",
        "In cut.otio, without a folder in shots: QU_040.",
        "In cut.otio, left out, since no shot can be called so: .., a/b.",
        "Not in the cut, and so not shown: QU_030.",
    ]
    assert "QU_040" in session.unreadable()


def test_a_cut_that_cannot_be_read_stops_nothing(opened: Callable[..., Session]) -> None:
    session = opened("QU_020", text="{")
    assert session.shots == ("QU_010", "QU_020", "QU_030")
    (trouble,) = session.troubles
    assert "The cut cannot be read" in trouble.says
    assert "cut.otio" in trouble.faults[0].file


def test_a_cut_that_changed_is_read_again(opened: Callable[..., Session]) -> None:
    session = opened("QU_030", "QU_020", "QU_010")
    path: Path = session.folder / "edit" / "cut.otio"
    path.write_text(
        path.read_text().replace("QU_030", "QU_0x0").replace("QU_010", "QU_030").replace("QU_0x0", "QU_010")
    )
    assert session.reload()
    assert session.shots == ("QU_010", "QU_020", "QU_030")
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

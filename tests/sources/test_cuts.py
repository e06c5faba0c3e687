"""Cuts: order, ranges, handles, transitions, gaps and tracks, from real files and from ones made here."""

import json
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import opentimelineio as otio
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.strategies import DataObject
from opentimelineio.opentime import TimeRange
from opentimelineio.schema import Clip, FreezeFrame, Gap, LinearTimeWarp, Transition

from growth_help import ABOUT_LINEAR, growth
from samelight.sources.cut.cuts import Cut, ShotNames, Use, read_cut
from samelight.sources.errors import CaptureError
from thoroughness import examples

REAL = Path(__file__).parents[2].parent / "shared" / "data" / "real" / "otio"
real = pytest.mark.skipif(not REAL.is_dir(), reason="the folder of real cuts is not beside the project")


def found(name: str) -> Cut:
    (path,) = REAL.rglob(name)
    return read_cut(path)


def told(cut: Cut) -> list[tuple[str, int, int, int]]:
    return [(use.clip, use.start, use.first, use.last) for use in cut.uses]


@real
class TestRealFiles:
    """Values were worked out by hand from the text of each file."""

    def test_a_simple_cut(self) -> None:
        cut = found("simple_cut.otio")
        assert told(cut) == [
            ("Clip-001", 0, 3, 5),
            ("Clip-002", 3, 2, 7),
            ("Clip-003", 9, 0, 3),
            ("Clip-004", 13, 100, 105),  # without a range of its own it shows all its media
        ]
        assert [use.handles for use in cut.uses] == [(3, 2), (2, 0), (0, 4), (0, 0)]
        assert (cut.frames, cut.rate, cut.gaps) == (19, 24.0, ())

    def test_a_transition_shows_more_of_both(self) -> None:
        second, third = found("transition.otio").uses[1:3]
        # in_offset 2, out_offset 3: the second goes on 3 frames after the cut, the third begins 2 before.
        assert (second.seen, third.seen) == ((2, 10), (1, 6))
        assert (second.first, second.last, third.first, third.last) == (2, 7, 3, 6)

    def test_gaps(self) -> None:
        cut = found("clip_example.otio")
        assert told(cut) == [("Clip-001", 8, 3, 5)]
        assert cut.gaps == ((0, 8), (11, 8))
        assert cut.uses[0].seen == (3, 6)

    def test_the_topmost_track_wins(self) -> None:
        cut = found("multitrack.otio")
        # Track 1: 720 frames of the first, a gap of 83, 722 of the third; track 2 from 482, track 3 from 1198.
        assert told(cut) == [
            ("tech.fux (loop)-HD.mp4", 0, 0, 481),
            ("t-hawk (loop)-HD.mp4", 482, 0, 479),
            ("out-b (loop)-HD.mp4", 962, 962 - 803, 1197 - 803),
            ("KOLL-HD.mp4", 1198, 0, 639),
            ("brokchrd (loop)-HD.mp4", 1957, 0, 719),
        ]
        assert cut.gaps == ((1838, 119), (2677, 605))

    def test_an_edl_with_gaps(self) -> None:
        cut = found("gap_test.edl")
        # 00:00:01:16 is frame 40, 00:00:04:06 frame 102; sources start at 00:10, 23:00 and 10:00 o'clock.
        assert told(cut) == [
            ("shot1", 0, 10 * 60 * 24, 10 * 60 * 24 + 23),
            ("shot2", 40, 23 * 3600 * 24, 23 * 3600 * 24 + 23),
            ("shot3", 102, 10 * 3600 * 24, 10 * 3600 * 24 + 23),
        ]
        assert cut.gaps == ((24, 16), (64, 38))

    def test_an_edl_with_a_dissolve(self) -> None:
        cut = found("dissolve_test.edl")
        first, second = cut.uses
        assert (first.clip, first.frames, first.seen) == (
            "clip_A",
            9,
            (86501, 86519),
        )  # 10 frames of dissolve
        # The list cuts clip_B in two at 01:00:08:18; its frames go on, so it is used once.
        assert (second.clip, second.first, second.frames) == ("clip_B", 86400 + 8 * 24 + 8, 11)

    def test_an_edl_of_nine_shots(self) -> None:
        cut = found("screening_example.edl")
        assert cut.title == "Example_Screening.01"
        assert len(cut.uses) == 9
        # 01:00:10:01 to 01:00:14:20, recorded from 00:59:58:00, which is 109 frames after 00:59:53:11.
        assert cut.uses[3] == Use("ZZ100_504C (LAY1)", "ZZ100_50", 109, 86641, 86755, 24.0)
        assert cut.frames == 1049
        assert cut.clips()[-1] == "ZZ100_510B (LAY1)"

    def test_a_shot_used_twice(self) -> None:
        assert found("cdl.edl").repeated() == ("ZZ100_501 (LAY3)",)

    def test_the_last_of_them(self) -> None:
        assert told(found("avid_example.edl")) == [("take_1", 0, 86501, 86531), ("take_2", 31, 86557, 86606)]


def span(start: int, length: int, rate: int = 24) -> TimeRange:
    return otio.opentime.TimeRange(
        otio.opentime.RationalTime(start, rate), otio.opentime.RationalTime(length, rate)
    )


def clip(
    name: str,
    start: int = 1009,
    length: int = 24,
    *,
    rate: int = 24,
    media: bool = True,
    effects: Sequence[FreezeFrame | LinearTimeWarp] = (),
) -> Clip:
    reference = (
        otio.schema.ExternalReference(name, available_range=span(start - 8, length + 16, rate))
        if media
        else None
    )
    made = otio.schema.Clip(name, media_reference=reference, source_range=span(start, length, rate))
    made.effects.extend(effects)
    return made


def gap(length: int) -> Gap:
    return otio.schema.Gap(source_range=span(0, length))


def fade(before: int, after: int) -> Transition:
    return otio.schema.Transition(
        "", "SMPTE_Dissolve", otio.opentime.RationalTime(before, 24), otio.opentime.RationalTime(after, 24)
    )


@pytest.fixture
def cut(tmp_path: Path) -> Callable[..., Cut]:
    """The cut of a timeline of these tracks, lowest first, by way of a file."""

    def make(*tracks: Any, kind: str = "Video") -> Cut:
        timeline = otio.schema.Timeline("harbour")
        for items in tracks:
            track = (
                items
                if isinstance(items, otio.schema.Track)
                else otio.schema.Track("", children=items, kind=kind)
            )
            timeline.tracks.append(track)
        path = tmp_path / "cut.otio"
        otio.adapters.write_to_file(timeline, str(path))
        return read_cut(path)

    return make


class TestTracks:
    def test_what_lies_under_another_is_cut_in_pieces(self, cut: Callable[..., Cut]) -> None:
        made = cut([clip("A"), clip("B"), clip("C")], [gap(30), clip("X", 1001, 10)])
        assert told(made) == [
            ("A", 0, 1009, 1032),
            ("B", 24, 1009, 1014),
            ("X", 30, 1001, 1010),
            ("B", 40, 1025, 1032),
            ("C", 48, 1009, 1032),
        ]
        assert made.repeated() == ("B",)
        assert made.uses[1].handles == (8, 26)
        assert made.clips() == ("A", "B", "X", "C")
        assert [use.first for use in made.of(["B"])] == [1009, 1025]

    @pytest.mark.parametrize(
        "items",
        [
            [clip("A"), clip("B", 5), clip("C")],
            [clip("A"), fade(6, 4), clip("B"), fade(2, 0), clip("C")],
            [gap(3), clip("A", media=False), gap(5), clip("A", 1033, rate=48)],
            [clip("A", effects=[LinearTimeWarp(time_scalar=2.0)]), clip("B", effects=[FreezeFrame()])],
            [clip("A"), clip("A", 1033), clip("A", 1057)],
        ],
        ids=["clips", "fades", "gaps", "speeds", "one in pieces"],
    )
    def test_a_track_that_shows_as_it_is_reads_as_if_it_were_flattened(
        self, cut: Callable[..., Cut], monkeypatch: pytest.MonkeyPatch, items: list[Any]
    ) -> None:
        made = [item.deepcopy() for item in items]
        as_it_is = cut([item.deepcopy() for item in items])
        monkeypatch.setattr("samelight.sources.cut.tracks._shows_as_it_is", lambda track: False)
        assert cut(made) == as_it_is

    def test_nothing_of_a_plain_cut_is_copied(
        self, cut: Callable[..., Cut], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """A copy of each clip takes as long as reading it."""
        monkeypatch.setattr("samelight.sources.cut.tracks._flattened", None)
        assert len(cut([clip("A"), fade(2, 2), clip("B")]).uses) == 2

    def test_a_transition_under_another_track(self, cut: Callable[..., Cut]) -> None:
        made = cut([clip("A"), fade(4, 6), clip("B")], [gap(22), clip("X", 1, 10)])
        a, x, b = made.uses
        # Half the dissolve lies under X: neither end that it belongs to is shown.
        assert (a.seen, x.seen, b.seen) == ((1009, 1030), (1, 10), (1017, 1032))
        whole = cut([clip("A"), fade(4, 6), clip("B")])
        assert [use.seen for use in whole.uses] == [(1009, 1038), (1005, 1032)]

    def test_disabled_clips_and_tracks_do_not_show(self, cut: Callable[..., Cut]) -> None:
        hidden = clip("X", 1, 10)
        hidden.enabled = False
        track = otio.schema.Track("", children=[clip("Y", 1, 100)], kind="Video")
        track.enabled = False
        made = cut([clip("A"), clip("B")], [gap(3), hidden], track)
        assert told(made) == [("A", 0, 1009, 1032), ("B", 24, 1009, 1032)]

    def test_sound_does_not_show(self, cut: Callable[..., Cut]) -> None:
        sound = otio.schema.Track("", children=[clip("noise", 1, 500)], kind="Audio")
        assert told(cut([clip("A")], sound)) == [("A", 0, 1009, 1032)]

    def test_a_track_with_a_range_of_its_own(self, cut: Callable[..., Cut]) -> None:
        track = otio.schema.Track(
            "", children=[clip("A"), clip("B")], kind="Video", source_range=span(20, 10)
        )
        assert told(cut(track)) == [("A", 0, 1029, 1032), ("B", 4, 1009, 1014)]

    def test_cuts_inside_cuts(self, cut: Callable[..., Cut]) -> None:
        inner = otio.schema.Track("", children=[clip("N1", 1, 10), clip("N2", 1, 10)], kind="Video")
        nested = otio.schema.Stack("scene", children=[inner], source_range=span(5, 10))
        assert told(cut([clip("A"), nested, clip("B")])) == [
            ("A", 0, 1009, 1032),
            ("N1", 24, 6, 10),
            ("N2", 29, 1, 5),
            ("B", 34, 1009, 1032),
        ]
        lone = otio.schema.Stack("scene", children=[clip("L", 7, 3)])
        assert told(cut([lone])) == [("L", 0, 7, 9)]
        lone.enabled = False
        assert cut([lone, clip("A")]).gaps == ((0, 3),)

    def test_a_cut_inside_another_takes_the_whole_of_its_place(self, cut: Callable[..., Cut]) -> None:
        """As the library's own flattening has it: where it holds nothing, nothing shows; and what follows stays where it is, however
        little or much of it is shown."""
        inner = otio.schema.Track("", children=[clip("N", 1, 10), gap(5), clip("M", 1, 5)], kind="Video")
        over = otio.schema.Stack("scene", children=[inner])
        made = cut([clip("A", 1, 30)], [over])
        assert told(made) == [("N", 0, 1, 10), ("M", 15, 1, 5), ("A", 20, 21, 30)]
        assert made.gaps == ((10, 5),)
        for start, length, wanted in (
            (-4, 12, [("N", 4, 1, 8), ("B", 12, 1, 6)]),
            (15, 12, [("M", 0, 1, 5), ("B", 12, 1, 6)]),
            (40, 12, [("B", 12, 1, 6)]),
        ):
            nested = otio.schema.Stack("scene", children=[inner.deepcopy()], source_range=span(start, length))
            assert told(cut([nested, clip("B", 1, 6)])) == wanted

    def test_a_range_that_begins_before_its_track_begins_with_nothing(self, cut: Callable[..., Cut]) -> None:
        track = otio.schema.Track(
            "", children=[clip("A", 1, 10), clip("B", -5, 10)], kind="Video", source_range=span(-3, 18)
        )
        made = cut([clip("U", 1, 20)], track)
        assert told(made) == [("U", 0, 1, 3), ("A", 3, 1, 10), ("B", 13, -5, -1), ("U", 18, 19, 20)]

    def test_what_lies_in_the_cut_without_a_track_shows_in_its_order(
        self, cut: Callable[..., Cut], tmp_path: Path
    ) -> None:
        timeline = otio.schema.Timeline("harbour")
        low = otio.schema.Track("", children=[clip("A", 1, 10)], kind="Video")
        timeline.tracks.extend([low, clip("X", 1, 4)])
        otio.adapters.write_to_file(timeline, str(tmp_path / "loose.otio"))
        assert told(read_cut(tmp_path / "loose.otio")) == [("X", 0, 1, 4), ("A", 4, 5, 10)]

    def test_black_is_a_gap(self, cut: Callable[..., Cut]) -> None:
        black = otio.schema.Clip(
            "BL", media_reference=otio.schema.GeneratorReference("black", "black"), source_range=span(0, 12)
        )
        assert cut([black, clip("A")]).gaps == ((0, 12),)

    def test_other_rates_keep_their_own_frames(self, cut: Callable[..., Cut]) -> None:
        made = cut([clip("A"), clip("B", 50, 25, rate=25), clip("C")])
        assert told(made) == [("A", 0, 1009, 1032), ("B", 24, 50, 74), ("C", 48, 1009, 1032)]
        assert [use.rate for use in made.uses] == [24.0, 25.0, 24.0]

    def test_a_retimed_clip_takes_more_frames(self, cut: Callable[..., Cut]) -> None:
        fast = clip("A", effects=[otio.schema.LinearTimeWarp(time_scalar=2.0)])
        frozen = clip("B", effects=[otio.schema.FreezeFrame()])
        a, b = cut([fast, frozen]).uses
        assert (a.first, a.last, a.speed) == (1009, 1056, 2.0)
        assert (b.first, b.last, b.speed) == (1009, 1009, 0.0)

    def test_without_media_there_is_no_telling_the_handles(self, cut: Callable[..., Cut]) -> None:
        assert cut([clip("A", media=False)]).uses[0].handles == (None, None)


class TestEdl:
    HEAD = "TITLE: quay\nFCM: NON-DROP FRAME\n"

    @pytest.fixture
    def edl(self, tmp_path: Path) -> Callable[..., Cut]:
        def make(text: bytes | str, rate: float = 24.0) -> Cut:
            path = tmp_path / "cut.edl"
            path.write_bytes(text if isinstance(text, bytes) else text.encode())
            return read_cut(path, rate)

        return make

    def test_without_a_clip_name_the_reel_is_the_name(self, edl: Callable[..., Cut]) -> None:
        event = "001  QU_010   V     C        01:00:04:05 01:00:05:12 01:00:00:00 01:00:01:07\n"
        assert edl(self.HEAD + event).uses[0].clip == "QU_010"
        named = edl(self.HEAD + event + "* FROM CLIP NAME: QU_010_v2.mov\n").uses[0]
        assert (named.clip, named.reel) == ("QU_010_v2.mov", "QU_010")

    def test_at_another_rate(self, edl: Callable[..., Cut]) -> None:
        event = "001  QU_010   V     C        00:00:01:00 00:00:02:00 00:00:00:00 00:00:01:00\r\n"
        assert told(edl(self.HEAD + event, 25.0)) == [("QU_010", 0, 25, 49)]

    def test_sound_is_passed_over(self, edl: Callable[..., Cut]) -> None:
        events = (
            "001  QU_010   V     C        01:00:04:05 01:00:05:05 01:00:00:00 01:00:01:00\n"
            "002  QU_010   A     C        01:00:04:05 01:00:05:05 01:00:00:00 01:00:01:00\n"
            "* FROM CLIP NAME: noise\n"
            "003  QU_020   AA/V  C        01:00:04:05 01:00:05:05 01:00:01:00 01:00:02:00\n"
        )
        assert edl(self.HEAD + events).clips() == ("QU_010", "QU_020")

    def test_two_video_tracks(self, edl: Callable[..., Cut]) -> None:
        events = (
            "001  QU_010   V     C        01:00:04:00 01:00:06:00 01:00:00:00 01:00:02:00\n"
            "002  QU_020   V2    C        01:00:04:00 01:00:05:00 01:00:01:00 01:00:02:00\n"
        )
        assert [(use.clip, use.start, use.frames) for use in edl(self.HEAD + events).uses] == [
            ("QU_010", 0, 24),
            ("QU_020", 24, 24),
        ]

    def test_old_encodings(self, edl: Callable[..., Cut]) -> None:
        event = "001  QU_010   V     C        00:00:01:00 00:00:02:00 00:00:00:00 00:00:01:00\n"
        assert edl((self.HEAD + event + "* gr\xfcn\n").encode("latin-1")).clips() == ("QU_010",)

    @pytest.mark.parametrize(
        ("text", "says"),
        [
            ("", "an empty file"),
            ("junk", "Unknown event"),
            ("TITLE: x\n", "a video track"),
            ("001  A  V  C  99:99:99:99 01:00:00:00 00:00:00:00 00:00:01:00\n", "beyond 23"),
            ("001  A  V  C  01:00:00:00 01:00:02:00 00:00:00:00 00:00:01:00\n", "don't match"),
            (b"\0" * 50, "well-formed"),
        ],
    )
    def test_what_is_no_cut(self, edl: Callable[..., Cut], text: bytes | str, says: str) -> None:
        with pytest.raises(CaptureError, match=says) as caught:
            edl(text)
        assert "cut.edl" in str(caught.value)


class TestHostile:
    @pytest.mark.parametrize(
        ("raw", "says"),
        [
            (b"", "an empty file"),
            (b"{", "well-formed cut"),
            (b"[]", "a timeline"),
            (b"{}", "a timeline"),
            (b'{"OTIO_SCHEMA": "Timeline.1"}', "well-formed cut"),
            (b'{"OTIO_SCHEMA": "Timeline.99"}', "well-formed cut"),
            (b'{"OTIO_SCHEMA": "Nope.1"}', "a timeline"),
            (b'{"OTIO_SCHEMA": "Clip.1", "name": "a"}', "a timeline, found Clip"),
            (b"\xff\xfe{}", "UTF-8"),
            (b'{"a":' * 100_000, "levels of nesting"),
            (b"[" * 100_000, "levels of nesting"),
        ],
    )
    def test_what_is_no_cut(self, tmp_path: Path, raw: bytes, says: str) -> None:
        path = tmp_path / "cut.otio"
        path.write_bytes(raw)
        with pytest.raises(CaptureError, match=says) as caught:
            read_cut(path)
        assert "cut.otio" in str(caught.value)

    @pytest.mark.parametrize(
        ("value", "rate"), [("NaN", 24), ("1e300", 24), ("24", 0), ("Infinity", 24), ("-1e300", 24)]
    )
    def test_times_that_are_none(
        self, tmp_path: Path, cut: Callable[..., Cut], value: str, rate: int
    ) -> None:
        cut([clip("QU_010")])
        path = tmp_path / "cut.otio"
        data = json.loads(path.read_text())
        track = data["tracks"]["children"][0]
        track["children"][0]["source_range"]["duration"] |= {"value": "HERE", "rate": rate}
        path.write_text(json.dumps(data).replace('"HERE"', value))
        with pytest.raises(CaptureError):
            read_cut(path)

    def test_other_endings_and_no_file(self, tmp_path: Path) -> None:
        (tmp_path / "cut.xml").write_text("x")
        (tmp_path / "cut.otio").mkdir()
        for name, says in (
            ("cut.xml", r"named \*\.xml"),
            ("cut.otio", "a folder"),
            ("gone.edl", "no such file"),
        ):
            with pytest.raises(CaptureError, match=says):
                read_cut(tmp_path / name)

    def test_more_than_any_cut(
        self, tmp_path: Path, cut: Callable[..., Cut], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        cut([clip("A")])
        monkeypatch.setattr("samelight.sources.cut.cut_files.LARGEST", 100)
        with pytest.raises(CaptureError, match="more"):
            read_cut(tmp_path / "cut.otio")

    @pytest.mark.parametrize("ending", ["otio", "edl"])
    def test_more_clips_than_any_cut_has(
        self, tmp_path: Path, cut: Callable[..., Cut], monkeypatch: pytest.MonkeyPatch, ending: str
    ) -> None:
        cut([clip("A"), clip("B"), clip("C")])
        event = "QU_010   V     C        01:00:04:00 01:00:06:00 01:00:00:00 01:00:02:00\n"
        (tmp_path / "cut.edl").write_text("".join(f"00{number}  {event}" for number in range(3)))
        monkeypatch.setattr("samelight.sources.cut.cut_files.MOST", 2)
        with pytest.raises(CaptureError, match=r"a cut of at most 2 (clips|events), found one of 3"):
            read_cut(tmp_path / f"cut.{ending}")

    def test_a_cut_of_thousands(self, cut: Callable[..., Cut]) -> None:
        made = cut([clip(f"S_{number:05d}") for number in range(3000)])
        assert len(made.uses) == 3000
        assert made.frames == 72_000

    @settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=examples(60))
    @given(st.data())
    def test_any_part_of_a_cut_is_an_error_or_a_cut(
        self, tmp_path: Path, cut: Callable[..., Cut], data: DataObject
    ) -> None:
        cut([clip("A"), fade(2, 2), clip("B")], [gap(3), clip("X", 1, 5)])
        raw = (tmp_path / "cut.otio").read_bytes()
        start, length = data.draw(st.integers(0, len(raw) - 1)), data.draw(st.integers(1, 40))
        (tmp_path / "part.otio").write_bytes(raw[:start] + raw[start + length :])
        try:
            read_cut(tmp_path / "part.otio")
        except CaptureError as error:
            assert "part.otio" in str(error)


@pytest.mark.parametrize(
    ("clip_name", "shot"),
    [
        ("HB_010", "HB_010"),
        ("HB_010.mov", "HB_010"),
        ("HB_010 (LAY3)", "HB_010"),
        ("hb_010_comp_v003.exr", "HB_010"),
        ("HB_010A", None),
        ("HB_0100", None),
        ("HB_01", "HB_01"),
        ("slate", None),
    ],
)
def test_the_shot_that_a_clip_is_of(clip_name: str, shot: str | None) -> None:
    assert ShotNames(["HB_01", "HB_010"]).of(clip_name) == shot


def test_very_many_clips_and_shots_take_no_more_than_their_number() -> None:
    def work(count: int) -> None:
        names = ShotNames(f"SH_{number:06d}" for number in range(count))
        assert names.of("SH_000007_comp_v002.mov") == "SH_000007"
        for number in range(count):
            assert names.of(f"sh_{number:06d}_comp") == f"SH_{number:06d}"

    assert growth(work, 250) < ABOUT_LINEAR

"""Frames read in threads: what is kept, what is read again, and what is said of a picture that cannot be shown."""

from __future__ import annotations

import os
import threading
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QObject
from PySide6.QtGui import QColor, QColorSpace, QImage, QImageReader
from pytestqt.qtbot import QtBot

from exr_help import claim_size, plane, write_exr, write_grey
from ocio_configs import write_config
from samelight.gui.background import frame_cache, frames
from samelight.gui.background.frame_cache import FrameCache, FrameShelf
from samelight.gui.background.frames import FULL, PROXY, Frame, load, read_frame
from samelight.light.spaces import TO_REC709
from samelight.sheets.errors import SamelightError
from samelight.sheets.resources import sample_sequence
from samelight.sources.pictures import pictures
from samelight.sources.pictures.colour_config import ColourView
from samelight.sources.pictures.seen import Through


def write_picture(path: Path, grey: int = 118) -> Path:
    """Write a PNG or JPEG of one grey."""
    path.parent.mkdir(parents=True, exist_ok=True)
    image = QImage(48, 20, QImage.Format.Format_RGB32)
    image.fill(QColor(grey, grey, grey))
    assert image.save(str(path), quality=95)
    return path


def noise_picture(path: Path) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    codes = np.random.default_rng(2).integers(0, 256, (60, 80, 3), np.uint8)
    assert QImage(codes.data, 80, 60, 240, QImage.Format.Format_RGB888).save(str(path))
    return path


def level(frame: Frame, x: int = 0, y: int = 0) -> int:
    """The code of a grey pixel."""
    assert frame.image is not None, frame.problem
    colour = frame.image.pixelColor(x, y)
    assert colour.red() == colour.green() == colour.blue()
    return colour.red()


# One frame


@pytest.mark.parametrize("ending", ["png", "jpg", "jpeg", "PNG"])
def test_a_display_picture_is_shown_as_it_is(tmp_path: Path, ending: str) -> None:
    write_picture(tmp_path / f"frames/A.{ending}", 118)
    frame = load(tmp_path, "A", FULL, 0.0)
    assert level(frame) == 118
    # A stop more of what 118 stands for: 0.181 becomes 0.362, which is 162.
    assert abs(level(load(tmp_path, "A", FULL, 1.0)) - 162) <= 1


@pytest.mark.parametrize(("stops", "code"), [(0.0, 118), (1.0, 162), (-1.0, 85), (6.0, 255)])
def test_a_scene_linear_picture_is_exposed(tmp_path: Path, stops: float, code: int) -> None:
    write_grey(tmp_path / "frames/A.exr", 0.18)
    assert abs(level(load(tmp_path, "A", FULL, stops)) - code) <= 1


def test_what_a_picture_is_stands_in_it_not_in_its_ending(tmp_path: Path) -> None:
    path = write_picture(tmp_path / "frames/A.png", 90)
    path.rename(path.with_suffix(".jpg"))
    assert level(load(tmp_path, "A", FULL, 0.0)) == 90


@pytest.mark.parametrize("kind", ["svg", "bmp", "ppm", "xpm"])
def test_only_png_and_jpeg_are_read_whatever_a_name_ends_in(tmp_path: Path, kind: str) -> None:
    """A vector picture names further pictures, which reading it would open."""
    path = tmp_path / "frames/A.png"
    path.parent.mkdir()
    if kind == "svg":
        path.write_text('<svg xmlns="http://www.w3.org/2000/svg" width="4" height="4"/>', encoding="utf-8")
    else:
        assert QImage(4, 4, QImage.Format.Format_RGB32).save(str(path), kind)  # type: ignore[call-overload] # Qt's own types say bytes, which it refuses
    frame = load(tmp_path, "A", FULL, 0.0)
    assert "no PNG or JPEG picture, whatever its ending says" in frame.problem


def test_what_qt_allows_by_itself_keeps_no_picture_of_the_stated_size_from_being_read(tmp_path: Path) -> None:
    """One of 64 million pixels and 16 bits takes 488 MiB, and Qt reads 256; here one of 4 MiB is compared with 1."""
    path = tmp_path / "A.png"
    image = QImage(700, 700, QImage.Format.Format_RGBX64)
    image.fill(QColor(118, 118, 118))
    assert image.save(str(path))
    usual = QImageReader.allocationLimit()
    QImageReader.setAllocationLimit(1)
    try:
        assert read_frame(path, PROXY).size == (700, 700)
    finally:
        QImageReader.setAllocationLimit(usual)


def test_transparency_is_black_and_profiles_are_taken_to_srgb(tmp_path: Path) -> None:
    (tmp_path / "frames").mkdir()
    image = QImage(4, 4, QImage.Format.Format_ARGB32)
    image.fill(QColor(255, 255, 255, 0))
    image.save(str(tmp_path / "frames/A.png"))
    assert level(load(tmp_path, "A", FULL, 0.0)) == 0
    wide = QImage(4, 4, QImage.Format.Format_RGB32)
    wide.fill(QColor(0, 200, 0))
    wide.setColorSpace(QColorSpace(QColorSpace.NamedColorSpace.DisplayP3))
    wide.save(str(tmp_path / "frames/B.png"))
    frame = load(tmp_path, "B", FULL, 0.0)
    assert frame.picture is not None and frame.image is not None
    assert frame.picture.remarks == ("colours taken to sRGB from the profile it holds",)
    assert frame.image.pixelColor(0, 0).green() > 200


def damage_exr(folder: Path) -> None:
    path = write_grey(folder / "frames/A.exr", 0.5)
    path.write_bytes(path.read_bytes()[:-20])


def damage_png(folder: Path) -> None:
    path = noise_picture(folder / "frames/A.png")
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])


def damage_jpeg(folder: Path) -> None:
    path = noise_picture(folder / "frames/A.jpg")
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])


def renamed_text(folder: Path) -> None:
    (folder / "frames").mkdir()
    (folder / "frames/A.exr").write_text("not rendered yet\n", encoding="utf-8")


def renamed_text_png(folder: Path) -> None:
    (folder / "frames").mkdir()
    (folder / "frames/A.png").write_text("not rendered yet\n", encoding="utf-8")


def empty_png(folder: Path) -> None:
    (folder / "frames").mkdir()
    (folder / "frames/A.png").touch()


def absurd_exr(folder: Path) -> None:
    claim_size(write_grey(folder / "frames/A.exr", 0.5), 100_000, 100_000)


def large_png(folder: Path) -> None:
    (folder / "frames").mkdir()
    image = QImage(9000, 8000, QImage.Format.Format_Mono)  # of one bit, since it is written in no time
    image.fill(0)
    assert image.save(str(folder / "frames/A.png"))


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (damage_exr, "A.exr cannot be shown: it is damaged or cut off: its pixels cannot be read."),
        (damage_png, "A.png cannot be shown: it is damaged or cut off."),
        (damage_jpeg, "A.jpg cannot be shown: it is cut off before its end."),
        (renamed_text, "A.exr cannot be shown: it is no OpenEXR picture, whatever its ending says."),
        (renamed_text_png, "A.png cannot be shown: it is no PNG or JPEG picture, whatever its ending says."),
        (empty_png, "A.png cannot be shown: it is empty."),
        (absurd_exr, "A.exr cannot be shown: it is 100,000 x 100,000; at most 67 million pixels are read."),
        (large_png, "A.png cannot be shown: it is 9,000 x 8,000; at most 67 million pixels are read."),
        (lambda _: None, "No frame. Put a picture at frames/A.exr, .png or .jpg"),
    ],
)
def test_why_there_is_no_picture(tmp_path: Path, make: object, says: str) -> None:
    assert callable(make)
    make(tmp_path)
    frame = load(tmp_path, "A", FULL, 0.0)
    assert frame.image is None
    assert frame.problem.startswith(says)
    # It is not read again while the file is the same.
    assert load(tmp_path, "A", FULL, 0.0, frame) is frame


def test_a_frame_is_read_again_only_when_the_file_changed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = write_grey(tmp_path / "frames/A.exr", 0.18)
    first = load(tmp_path, "A", FULL, 0.0)
    monkeypatch.setattr(frames, "tried", lambda *_: pytest.fail("read again"))
    assert load(tmp_path, "A", FULL, 0.0, first) is first
    brighter = load(tmp_path, "A", FULL, 1.0, first)
    assert brighter.picture is first.picture
    assert abs(level(brighter) - 162) <= 1
    monkeypatch.undo()
    write_grey(path, 0.36)
    assert abs(level(load(tmp_path, "A", FULL, 0.0, first)) - 162) <= 1
    path.unlink()
    assert load(tmp_path, "A", FULL, 0.0, first).problem.startswith("No frame")


def test_what_failed_in_a_way_that_nobody_foresaw_is_read_again_when_it_changed(
    qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = write_grey(tmp_path / "frames/A.exr", 0.18)

    def fails(*_: object) -> object:
        raise RuntimeError("nobody thought of it")

    cache = FrameCache()
    cache.set_folder(tmp_path)
    with monkeypatch.context() as broken:
        broken.setattr(frames, "tried", fails)
        cache.want([("A", FULL)], 0.0)
        qtbot.waitUntil(lambda: not cache.busy)
        frame = cache.frame("A", FULL)
        assert frame is not None
        assert frame.image is None
        assert frame.problem.startswith("A.exr cannot be shown: RuntimeError: nobody thought of it")
        assert load(tmp_path, "A", FULL, 0.0, frame) is frame
    write_grey(path, 0.36)
    cache.want([("A", FULL)], 0.0)
    qtbot.waitUntil(lambda: not cache.busy)
    sound = cache.frame("A", FULL)
    assert sound is not None
    assert sound.image is not None
    cache.stop()


def test_a_file_that_was_mended_in_place_with_its_old_time_is_read_again(tmp_path: Path) -> None:
    path = write_grey(tmp_path / "frames/A.exr", 0.18)
    sound, stat = path.read_bytes(), path.stat()
    path.write_bytes(bytes(len(sound)))
    os.utime(path, ns=(stat.st_atime_ns, stat.st_mtime_ns))
    damaged = load(tmp_path, "A", FULL, 0.0)
    assert damaged.image is None
    path.write_bytes(sound)
    os.utime(path, ns=(stat.st_atime_ns, stat.st_mtime_ns))
    assert load(tmp_path, "A", FULL, 0.0, damaged).image is not None


def test_a_proxy_is_small(tmp_path: Path) -> None:
    write_grey(tmp_path / "frames/A.exr", 0.18, (1500, 600))
    full, proxy = (load(tmp_path, "A", longest, 0.0) for longest in (FULL, PROXY))
    assert full.image is not None and proxy.image is not None
    assert (full.image.width(), proxy.image.width()) == (1500, 500)
    assert proxy.size_bytes * 8 < full.size_bytes


def test_the_frames_of_the_sample(qtbot: QtBot) -> None:
    folder = sample_sequence("harbour")
    shots = [f"HB_{number:03d}" for number in range(10, 250, 10)]
    read = {shot: load(folder, shot, FULL, 0.0).picture for shot in shots}
    held = {shot: picture for shot, picture in read.items() if picture is not None}
    assert set(shots) - set(held) == {"HB_170"}
    assert [shot for shot, picture in held.items() if picture.scene] == ["HB_040", "HB_060", "HB_130"]
    assert {picture.linear.shape for picture in held.values()} == {(201, 480, 3)}
    levels = {shot: float(np.mean(picture.linear, dtype=np.float64)) for shot, picture in held.items()}
    # The shot whose bounced light is gone is more than a stop darker than any other.
    others = [level for shot, level in levels.items() if shot != "HB_130"]
    assert 2.0 * levels["HB_130"] < min(others)


# What is kept


def frame_of(shot: str, kilobytes: int) -> Frame:
    picture = pictures.Picture(np.zeros((1, kilobytes * 1024 // 6, 3), np.float16), (1, 1), True)
    return Frame(shot, FULL, 0.0, picture=picture)


@given(st.lists(st.tuples(st.integers(0, 6), st.integers(0, 90)), max_size=40))
def test_the_shelf_never_holds_more_than_its_budget(puts: list[tuple[int, int]]) -> None:
    shelf = FrameShelf(100 * 1024)
    for number, kilobytes in puts:
        shelf.put((f"S{number}", FULL), frame_of(f"S{number}", kilobytes))
        assert shelf.size_bytes <= shelf.budget
        assert ((f"S{number}", FULL)) in shelf
    held = {number: kilobytes for number, kilobytes in puts if (f"S{number}", FULL) in shelf}
    expected = sum(frame_of("", kilobytes).size_bytes for kilobytes in held.values())
    assert (shelf.size_bytes, len(shelf)) == (expected, len(held))


def test_what_was_looked_at_longest_ago_goes_first() -> None:
    shelf = FrameShelf(100 * 1024)
    for shot in "ABC":
        shelf.put((shot, FULL), frame_of(shot, 30))
    shelf.get(("A", FULL))
    shelf.put(("D", FULL), frame_of("D", 30))
    assert [shot for shot in "ABCD" if (shot, FULL) in shelf] == ["A", "C", "D"]
    shelf.put(("E", FULL), frame_of("E", 101))
    assert [shot for shot in "ACDE" if (shot, FULL) in shelf] == ["A", "C", "D"]


def settled(cache: FrameCache, qtbot: QtBot) -> None:
    qtbot.waitUntil(lambda: not cache.busy)


def test_walking_a_long_cut_stays_within_the_budget(tmp_path: Path, qtbot: QtBot) -> None:
    shots = [f"S{i:02d}" for i in range(12)]
    for shot in shots:
        write_grey(tmp_path / f"frames/{shot}.exr", 0.18, (200, 100))
    one = load(tmp_path, "S00", FULL, 0.0).size_bytes
    cache = FrameCache(budget=4 * one)
    cache.set_folder(tmp_path)
    for shot in shots:
        cache.want([(shot, FULL)], 0.0)
        settled(cache, qtbot)
        assert cache.shelf.size_bytes <= 4 * one
    assert [shot for shot in shots if (shot, FULL) in cache.shelf] == shots[-4:]
    cache.stop()


def test_a_frame_that_is_still_kept_is_there_at_once(tmp_path: Path, qtbot: QtBot) -> None:
    for shot in "AB":
        write_grey(tmp_path / f"frames/{shot}.exr", 0.18)
    cache = FrameCache()
    cache.set_folder(tmp_path)
    for shot in "AB":
        cache.want([(shot, FULL)], 0.0)
        settled(cache, qtbot)
    cache.want([("A", FULL)], 0.0)
    assert cache.frame("A", FULL) is not None
    assert cache.frame("B", FULL) is None
    cache.stop()


def test_the_window_is_never_held_up_and_what_waits_is_let_go(
    tmp_path: Path, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Frames that take forever: asking for others comes back at once, and those that had not begun are never read."""
    go, begun = threading.Event(), []

    def slow(folder: Path, shot: str, *rest: object) -> Frame:
        begun.append(shot)
        assert go.wait(240)
        return Frame(shot, FULL, 0.0, problem="read")

    monkeypatch.setattr(frame_cache, "load", slow)
    cache = FrameCache()
    cache.set_folder(tmp_path)
    for shot in "ABCDEF":
        cache.want([(shot, FULL)], 0.0)
        assert cache.frame(shot, FULL) is None
    go.set()
    settled(cache, qtbot)
    frame = cache.frame("F", FULL)
    assert frame is not None and frame.problem == "read"
    # Two threads had begun; of the rest only the last is still wanted.
    assert set(begun) <= {"A", "B", "F"} and "F" in begun
    cache.stop()


def test_exposure_that_changes_while_a_frame_is_read_comes_out_right(tmp_path: Path, qtbot: QtBot) -> None:
    write_grey(tmp_path / "frames/A.exr", 0.18)
    cache = FrameCache()
    cache.set_folder(tmp_path)
    for stops in (0.0, 0.5, 1.0):
        cache.want([("A", FULL)], stops)
    settled(cache, qtbot)
    frame = cache.frame("A", FULL)
    assert frame is not None and abs(level(frame) - 162) <= 1
    cache.stop()


def test_a_new_render_shows_by_itself(tmp_path: Path, qtbot: QtBot) -> None:
    path = write_grey(tmp_path / "frames/A.exr", 0.18)
    cache = FrameCache()
    cache.set_folder(tmp_path)
    cache.watch(True)
    cache.want([("A", FULL)], 0.0)
    settled(cache, qtbot)
    with qtbot.waitSignal(cache.changed):
        write_grey(path, 0.36)
    frame = cache.frame("A", FULL)
    assert frame is not None and abs(level(frame) - 162) <= 1
    cache.watch(False)
    cache.stop()


def test_another_sequence_starts_empty(tmp_path: Path, qtbot: QtBot) -> None:
    for name, grey in (("one", 0.18), ("two", 0.36)):
        write_grey(tmp_path / name / "frames/A.exr", grey)
    cache = FrameCache()
    cache.set_folder(tmp_path / "one")
    cache.want([("A", FULL)], 0.0)
    cache.set_folder(tmp_path / "two")
    assert cache.frame("A", FULL) is None
    cache.want([("A", FULL)], 0.0)
    settled(cache, qtbot)
    frame = cache.frame("A", FULL)
    assert frame is not None and abs(level(frame) - 162) <= 1
    cache.stop()


def test_a_cache_can_go_while_it_reads(tmp_path: Path, qtbot: QtBot) -> None:
    write_grey(tmp_path / "frames/A.exr", 0.18, (2000, 1000))
    parent = QObject()
    cache = FrameCache(parent)
    cache.set_folder(tmp_path)
    cache.want([("A", FULL), ("A", PROXY)], 0.0)
    gone = []
    cache.destroyed.connect(lambda: gone.append(True))
    del cache
    parent.deleteLater()
    del parent
    qtbot.waitUntil(lambda: bool(gone))


@pytest.mark.parametrize("ending", [".png", ".exr"])
@pytest.mark.parametrize("name", ["a\0b", "a\ud83c"], ids=repr)
def test_a_name_that_no_file_can_have_is_a_sentence(name: str, ending: str, tmp_path: Path) -> None:
    with pytest.raises(SamelightError, match=r"name|path in UTF-8"):
        read_frame(tmp_path / (name + ending), 64)


# Through a view


@pytest.fixture(scope="module")
def view(tmp_path_factory: pytest.TempPathFactory) -> ColourView:
    config = write_config(tmp_path_factory.mktemp("colour") / "show.ocio")
    return ColourView(str(config), "Desk", "Film")


def test_a_frame_is_seen_through_a_view(tmp_path: Path, view: ColourView) -> None:
    write_grey(tmp_path / "frames/A.exr", 0.18)
    through = Through(view)
    frame = load(tmp_path, "A", FULL, 0.0, None, through)
    assert level(frame) == round(255 * 0.18 ** (1 / 2.2))
    assert (frame.says, frame.lacks) == ("Scene-linear, +0.0 stops, Film, Desk", "")
    assert load(tmp_path, "A", FULL, 0.0, frame, through) is frame
    plain = load(tmp_path, "A", FULL, 0.0, frame)
    assert plain.picture is frame.picture and level(plain) == 118


def test_an_8_bit_frame_was_seen_through_its_view_when_it_was_made(tmp_path: Path, view: ColourView) -> None:
    (tmp_path / "frames").mkdir()
    grey = QImage(8, 8, QImage.Format.Format_RGB32)
    grey.fill(QColor(90, 90, 90))
    assert grey.save(str(tmp_path / "frames/A.png"))
    frame = load(tmp_path, "A", FULL, 0.0, None, Through(view))
    assert (level(frame), frame.says) == (90, "8-bit sRGB, +0.0 stops, clipped")


def test_a_view_that_cannot_be_used_leaves_the_plain_curve_and_says_so(tmp_path: Path) -> None:
    config = write_config(tmp_path / "show.ocio", "!<FileTransform> {src: gone.cube}")
    write_grey(tmp_path / "frames/A.exr", 0.18)
    frame = load(tmp_path, "A", FULL, 0.0, None, Through(ColourView(str(config), "Desk", "Film")))
    assert level(frame) == 118
    assert frame.says.startswith(
        "the view Film, Desk cannot be used: The specified file reference 'gone.cube'"
    )
    assert frame.lacks and "sRGB curve" in frame.says


def test_an_exr_without_primaries_is_in_the_working_space(tmp_path: Path) -> None:
    write_exr(tmp_path / "frames/A.exr", {"R": plane(0.5), "G": plane(0.0), "B": plane(0.0)})
    plain = load(tmp_path, "A", FULL, 0.0)
    wide = load(tmp_path, "A", FULL, 0.0, plain, Through(None, "acescg"))
    assert plain.picture is not None and wide.picture is not None
    assert wide.picture.linear[0, 0].tolist() == pytest.approx(0.5 * TO_REC709["acescg"][:, 0], rel=2e-3)
    assert wide.picture.remarks == ("taken as acescg, the working space, since it states no primaries",)


def test_all_frames_of_a_cache_are_seen_through_another_view(
    tmp_path: Path, view: ColourView, qtbot: QtBot
) -> None:
    write_grey(tmp_path / "frames/A.exr", 0.18)
    cache = FrameCache()
    cache.set_folder(tmp_path)
    cache.want([("A", FULL)], 0.0)
    settled(cache, qtbot)
    cache.look_through(Through(view))
    settled(cache, qtbot)
    known = cache.best("A")
    assert known is not None and level(known) == round(255 * 0.18 ** (1 / 2.2))
    # While the large one is exposed anew, the small one stands in for it.
    small = cache.frame("A", PROXY)
    assert small is not None and small.is_seen(0.0, Through(view))
    cache.stop()

"""Small pictures of the shots: kept from one day to the next, and never one that is out of date."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtGui import QColor, QImage

from exr_help import plane, write_exr
from ocio_configs import write_config
from samelight.gui.background import frames, thumbnails
from samelight.gui.background.frames import Frame
from samelight.gui.background.thumbnails import THUMBNAIL, load_thumbnail, thumbnail_folder
from samelight.sources.pictures.colour_config import ColourView
from samelight.sources.pictures.seen import Through


def write_grey(path: Path, grey: int) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    image = QImage(512, 200, QImage.Format.Format_RGB32)
    image.fill(QColor(grey, grey, grey))
    assert image.save(str(path))


def grey_of(frame: Frame) -> int:
    assert frame.image is not None, frame.problem
    assert max(frame.image.width(), frame.image.height()) == THUMBNAIL
    return frame.image.pixelColor(5, 5).red()


def load(folder: Path, known: Frame | None = None) -> Frame:
    return load_thumbnail(folder, "A", THUMBNAIL, 0.0, known)


@pytest.fixture
def reads(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The shots whose frames were read whole."""
    seen: list[str] = []
    whole = frames.load

    def counted(folder: Path, shot: str, *more: object) -> Frame:
        seen.append(shot)
        return whole(folder, shot, *more)  # type: ignore[arg-type]

    monkeypatch.setattr(thumbnails, "load", counted)
    return seen


def test_a_frame_is_read_whole_once_and_then_its_small_picture_is(tmp_path: Path, reads: list[str]) -> None:
    write_grey(tmp_path / "frames/A.png", 90)
    first = load(tmp_path)
    assert grey_of(first) == 90
    assert load(tmp_path, first) is first  # still so
    assert grey_of(load(tmp_path)) == 90  # on another day
    assert reads == ["A"]
    assert all(path.stat().st_mode & 0o077 == 0 for path in thumbnail_folder().iterdir())


def test_a_new_render_is_read_anew(tmp_path: Path, reads: list[str]) -> None:
    write_grey(tmp_path / "frames/A.png", 90)
    first = load(tmp_path)
    (tmp_path / "frames/A.png").unlink()
    write_grey(tmp_path / "frames/A.png", 180)
    assert grey_of(load(tmp_path, first)) == 180
    assert reads == ["A", "A"]


def test_a_damaged_kept_one_counts_as_none(tmp_path: Path, reads: list[str]) -> None:
    write_grey(tmp_path / "frames/A.png", 60)
    before = set(thumbnail_folder().iterdir()) if thumbnail_folder().exists() else set()
    load(tmp_path)
    (kept,) = set(thumbnail_folder().iterdir()) - before
    kept.write_bytes(b"no picture")
    assert grey_of(load(tmp_path)) == 60
    assert reads == ["A", "A"]


@pytest.mark.parametrize("content", [None, b"", b"no picture at all"])
def test_what_cannot_be_read_says_why(tmp_path: Path, content: bytes | None) -> None:
    if content is not None:
        (tmp_path / "frames").mkdir()
        (tmp_path / "frames/A.png").write_bytes(content)
    frame = load(tmp_path)
    assert frame.image is None and ("A" in frame.problem)
    assert load(tmp_path, frame).problem == frame.problem


def test_a_small_picture_through_a_view_is_another_one(tmp_path: Path) -> None:
    config = write_config(tmp_path / "show.ocio")
    through = Through(ColourView(str(config), "Desk", "Film"))
    write_exr(tmp_path / "frames/A.exr", {name: plane(0.18, (256, 100)) for name in "RGB"})
    plain = load(tmp_path)
    seen = load_thumbnail(tmp_path, "A", THUMBNAIL, 0.0, plain, through)
    assert (grey_of(plain), grey_of(seen)) == (118, round(255 * 0.18 ** (1 / 2.2)))
    assert load_thumbnail(tmp_path, "A", THUMBNAIL, 0.0, seen, through) is seen
    # Kept until the config is another; what could not be seen through it is not kept.
    assert grey_of(load_thumbnail(tmp_path, "A", THUMBNAIL, 0.0, None, through)) == grey_of(seen)
    config.unlink()
    assert grey_of(load_thumbnail(tmp_path, "A", THUMBNAIL, 0.0, None, through)) == 118
    write_config(config, "!<ExponentTransform> {value: [1.8, 1.8, 1.8, 1], direction: inverse}")
    assert grey_of(load_thumbnail(tmp_path, "A", THUMBNAIL, 0.0, None, through)) == round(
        255 * 0.18 ** (1 / 1.8)
    )

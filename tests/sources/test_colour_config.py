"""OpenColorIO configs: what they offer, a picture through a view, and what is said of a damaged one."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest

from ocio_configs import ACES_1, config_text, write_config
from samelight.light.spaces import FROM_REC709
from samelight.sources.errors import CaptureError
from samelight.sources.limits import VIEW
from samelight.sources.pictures import colour_config
from samelight.sources.pictures.colour_config import (
    ColourConfigError,
    ColourView,
    config_views,
    viewed,
)
from samelight.sources.pictures.pictures import Half
from samelight.sources.trial import tried

GREY: Half = np.full((2, 3, 3), 0.18, np.float16)


@pytest.fixture(scope="module")
def config(tmp_path_factory: pytest.TempPathFactory) -> str:
    return str(write_config(tmp_path_factory.mktemp("colour") / "show.ocio"))


def test_what_a_config_offers(config: str) -> None:
    found = config_views(config)
    assert found.displays == {"Desk": ("Film", "Plain"), "Wall": ("Film",)}
    assert found.default == ColourView(config, "Desk", "Film", found.default.edition)
    assert str(found.default) == "Film, Desk"


def test_the_configs_that_are_built_in() -> None:
    found = config_views(ACES_1)
    assert found.default == ColourView(ACES_1, "sRGB - Display", "ACES 1.0 - SDR Video")
    assert "Un-tone-mapped" in found.displays["sRGB - Display"]


def test_a_picture_through_a_view(config: str) -> None:
    codes = viewed(GREY, 0.0, ColourView(config, "Desk", "Film"))
    assert (codes.shape, codes.dtype.name) == (GREY.shape, "uint8")
    assert set(codes.ravel().tolist()) == {round(255 * 0.18 ** (1 / 2.2))}
    # A stop more is twice the light, and what is beyond the display ends at its white.
    assert viewed(GREY, 1.0, ColourView(config, "Desk", "Film"))[0, 0, 0] == round(255 * 0.36 ** (1 / 2.2))
    assert viewed(GREY, 9.0, ColourView(config, "Desk", "Film")).min() == 255
    odd = np.array([[[np.nan, -1.0, 65504.0]]], np.float16)
    assert viewed(odd, 0.0, ColourView(config, "Desk", "Plain")).tolist() == [[[0, 0, 255]]]


def test_a_large_picture_goes_through_in_strips(config: str, monkeypatch: pytest.MonkeyPatch) -> None:
    steps = np.linspace(0.0, 1.0, 60, dtype=np.float16).reshape(4, 5, 3)
    whole = viewed(steps, 0.0, ColourView(config, "Desk", "Film"))
    monkeypatch.setattr(colour_config, "_STRIP", 7)
    assert (viewed(steps, 0.0, ColourView(config, "Desk", "Film")) == whole).all()


def test_scene_linear_is_the_working_space_where_the_config_says_no_more(config: str) -> None:
    red: Half = np.array([[[1.0, 0.0, 0.0]]], np.float16)
    plain = ColourView(config, "Desk", "Plain")
    assert viewed(red, 0.0, plain, "rec709").tolist() == [[[255, 0, 0]]]
    expected = [round(255 * float(part)) for part in FROM_REC709["acescg"][:, 0]]
    assert viewed(red, 0.0, plain, "acescg").tolist() == [[expected]]


def test_a_config_that_names_the_space_of_exchange(tmp_path: Path) -> None:
    path = write_config(tmp_path / "a.ocio", roles=", aces_interchange: light")
    plain = ColourView(str(path), "Desk", "Plain")
    primaries: Half = np.eye(3, dtype=np.float16)[None]
    # Linear sRGB to ACES2065-1, as the ACES configs state it (from memory): 0.4396, 0.0898, 0.0175 and so on.
    columns = [[0.43963, 0.08978, 0.01754], [0.38299, 0.81344, 0.11155], [0.17738, 0.09678, 0.87091]]
    assert viewed(primaries, 0.0, plain).tolist() == [
        [[round(255 * part) for part in row] for row in columns]
    ]


def write_cube(path: Path, level: float) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("LUT_3D_SIZE 2\n" + f"{level} {level} {level}\n" * 8)


def test_variables_of_the_environment_stand_in_search_paths_and_files(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As OpenColorIO's documentation has it: those that the config declares, else what it declares for them."""
    for shot, level in (("HB_010", 0.25), ("HB_020", 0.75)):
        write_cube(tmp_path / f"luts/{shot}/look.cube", level)
    path = tmp_path / "show.ocio"
    declared = "environment: {SHOT: HB_010, LOOK: look}\nsearch_path: luts/$SHOT"
    text = config_text("!<FileTransform> {src: $LOOK.cube}")
    path.write_text(text.replace("environment: {}\nsearch_path: luts", declared))
    first = config_views(str(path)).default
    assert set(viewed(GREY, 0.0, first).ravel().tolist()) == {64}
    monkeypatch.setenv("SHOT", "HB_020")
    second = config_views(str(path)).default
    assert set(viewed(GREY, 0.0, second).ravel().tolist()) == {191}
    assert first != second  # what was seen through the one is not taken for the other
    monkeypatch.setenv("SHOT", "HB_990")
    with pytest.raises(ColourConfigError, match=r"could not be located.*HB_990"):
        viewed(GREY, 0.0, config_views(str(path)).default)


def test_a_config_that_was_edited_is_another_edition(tmp_path: Path) -> None:
    path = write_config(tmp_path / "show.ocio")
    before = config_views(str(path))
    assert config_views(str(path)) == before
    write_config(path, "!<ExponentTransform> {value: [1.8, 1.8, 1.8, 1], direction: inverse}")
    after = config_views(str(path))
    assert after.default != before.default and str(after.default) == str(before.default)
    assert after.views[0] == after.default and len(after.views) == 3


def test_a_lut_that_was_edited_in_place_or_added_makes_another_edition(tmp_path: Path) -> None:
    path = tmp_path / "show.ocio"
    path.write_text(config_text("!<FileTransform> {src: look.cube}"))
    write_cube(tmp_path / "luts/deep/look.cube", 0.25)
    write_cube(tmp_path / "elsewhere/other.cube", 0.25)
    os.utime(tmp_path / "luts/deep", (1, 1))  # what is written at once may bear the same time
    before = config_views(str(path)).default
    write_cube(tmp_path / "elsewhere/other.cube", 0.125)
    assert config_views(str(path)).default == before  # the config does not name that folder
    write_cube(tmp_path / "luts/deep/look.cube", 0.125)
    edited = config_views(str(path)).default
    write_cube(tmp_path / "luts/deep/added.cube", 0.25)
    added = config_views(str(path)).default
    write_cube(tmp_path / "luts/deep/added.cube", 0.125)
    assert len({before, edited, added, config_views(str(path)).default}) == 4


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "line 0.*valid version"),
        ("samelight_sequence: 2", "valid version"),
        ("- a\n- b: [", "line 2"),
        (config_text().replace("version: 2", "version: 9", 1), "version is 9"),
        (config_text().replace("  Desk:", "  Desk: ["), "line "),
        (config_text(roles=""), "names no space for scene_linear"),
        (config_text("!<FileTransform> {src: gone.cube}"), "gone.cube.* could not be located"),
        (config_text("!<ColorSpaceTransform> {src: light, dst: away}"), "away"),
        (config_text("!<Nothing> {}"), "Nothing|not a"),
    ],
)
def test_what_is_said_of_a_damaged_one(tmp_path: Path, text: str, says: str) -> None:
    path = tmp_path / "a.ocio"
    path.write_text(text)
    with pytest.raises(ColourConfigError, match=says) as caught:
        viewed(GREY, 0.0, config_views(str(path)).default)
    assert "\n" not in str(caught.value) and "OCIO:" not in str(caught.value)


def test_what_is_no_config(tmp_path: Path, config: str) -> None:
    for name, says in (
        ("ocio://nothing-of-the-kind", "nothing-of-the-kind"),
        (str(tmp_path), "it is a folder"),
        (str(tmp_path / "gone.ocio"), "it is not there"),
        (str(tmp_path / "a\0.ocio"), "a name that no file can have"),
    ):
        with pytest.raises(ColourConfigError, match=says):
            config_views(name)
    with pytest.raises(ColourConfigError, match="it has no view Film of a display Moon"):
        viewed(GREY, 0.0, ColourView(config, "Moon", "Film"))


def test_very_many_views_are_not_listed(tmp_path: Path, config: str) -> None:
    views = "\n".join(f"    - !<View> {{name: v{number}, colorspace: raw}}" for number in range(1001))
    path = tmp_path / "a.ocio"
    path.write_text(config_text().replace("  Wall:\n", f"  Wall:\n{views}\n"))
    with pytest.raises(ColourConfigError, match="it has 1,004 views; at most 1,000 are listed"):
        config_views(str(path))


@pytest.mark.skipif(os.name != "posix", reason="this system tells no other way how a child ended")
def test_a_space_made_of_itself_ends_in_a_sentence(tmp_path: Path) -> None:
    path = write_config(tmp_path / "a.ocio", "!<ColorSpaceTransform> {src: light, dst: film}")
    view = tried(path, VIEW, config_views, str(path)).default
    with pytest.raises(CaptureError, match="one that takes its reader down"):
        tried(path, VIEW, viewed, GREY, 0.0, view)

"""What a turned sky changes at a mark, and what is said where its map is not known."""

from __future__ import annotations

import math

import numpy as np
import pytest

from drift.computed.scenes import FACE, Scene, Tree, matching_faces, shot
from known import about
from samelight.drift.cells import Grade
from samelight.light.locus import xy_to_uv
from samelight.light.spaces import TO_XYZ
from samelight.sheets.pixels import pixels_text
from samelight.sheets.values import Colour, FileRef, Level, alike, decoded, encoded

LAMP: Tree = {"lamp": {"type": "distant", "intensity": 0.5, "direction": [0, 0, -1]}}


def half_sky() -> str:
    """Bright where it looks to +Z, half as bright as even elsewhere; its mean over all directions is 1."""
    rgb = np.full((32, 64, 3), 0.5)
    rgb[:, 16:48] = 1.5
    return pixels_text(rgb)


def sky(**more: object) -> Tree:
    return {"dome": {"intensity": 1.0, "texture": "sky.exr", "sha256": "ab", "pixels": half_sky(), **more}}


def scene(own: Tree, setup: Tree | None = None, **more: object) -> Scene:
    return Scene(
        {"lights": LAMP, "environments": sky() if setup is None else setup},
        A=shot(LAMP, environments=own, **more),
    )


def value(scene: Scene, parameter: str) -> tuple[float, float]:
    cell = scene.cell(parameter)
    assert isinstance(cell.master, Level) and isinstance(cell.value, Level)
    return cell.master.value, cell.value.value


def test_a_turn_of_the_sky_changes_the_face() -> None:
    turned = scene(sky(rotation=180))
    assert value(turned, "marks.face.level.dome") == (
        about(1.5 * math.pi, rel=1e-3),
        about(0.5 * math.pi, rel=1e-3),
    )
    assert turned.cell("marks.face.level").grade is not Grade.SAME
    assert not turned.cell("marks.face.level").remark


def test_a_quarter_turn_lights_one_side() -> None:
    sides: Tree = {"left": {"position": [0, 0, 0], "normal": [1, 0, 0]}, "face": FACE}
    turned = scene(sky(rotation=90), marks=sides)
    # Clockwise seen from above takes what looks to +Z to -X.
    assert value(turned, "marks.left.level.dome")[1] == pytest.approx(0.5 * math.pi, rel=1e-3)
    assert value(turned, "marks.face.level.dome")[1] == pytest.approx(math.pi, rel=1e-3)


def test_a_mark_without_a_surface_takes_the_mean() -> None:
    turned = scene(sky(rotation=180), marks={"face": {"position": [0, 0, 0]}})
    assert value(turned, "marks.face.level.dome") == (about(math.pi, rel=1e-3),) * 2


def test_a_colour_on_the_sky_filters_its_map() -> None:
    """Under a red filter the blue half of a sky is dark; its level counts as much as before."""
    rgb = np.zeros((32, 64, 3))
    rgb[:, 16:48, 2], rgb[:, :16, 0], rgb[:, 48:, 0] = 1.0, 1.0, 1.0
    blue = {"dome": {"intensity": 1.0, "texture": "s.exr", "pixels": pixels_text(rgb), "color": [1, 0, 0]}}
    found = scene(blue, {"dome": {**blue["dome"], "rotation": 180}})
    lit, dark = value(found, "marks.face.level.dome")
    assert dark < 1e-6 < lit == pytest.approx(0.2126 * math.pi, rel=1e-3)


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"texture": "b.exr", "pixels": ""}, "the sheet holds no pixels of it"),
        ({"pixels": "64x32 1.0 AAAA"}, "its pixels in the sheet are damaged"),
        ({"pixels": "64x32 nan " + "AAAA" * 4096}, "its pixels in the sheet are damaged"),
        ({"pixels": "1x1 1.0 AH4AfgB+"}, "its pixels in the sheet are damaged"),  # not numbers
        ({"format": "angular"}, "not laid out by latitude and longitude"),
        ({"mirrored": True}, "it is mirrored"),
    ],
)
def test_a_map_that_is_not_counted_is_even_and_that_is_said(more: Tree, says: str) -> None:
    own = sky(**more)
    found = scene(own, own)
    for parameter in ("marks.face.level", "marks.face.fill", "marks.face.key_to_fill"):
        remark = found.cell(parameter).remark
        assert remark.startswith("without the map of dome (even, since") and says in remark
    assert value(found, "marks.face.fill")[1] == pytest.approx(math.pi)
    assert not found.has("marks.face.level.dome")
    assert "map" not in found.cell("marks.face.key").remark


def test_an_even_sky_without_a_map_says_nothing() -> None:
    plain: Tree = {"dome": {"intensity": 1.0}}
    found = scene(plain, plain)
    assert not found.cell("marks.face.level").remark and not found.has("marks.face.level.dome")


def test_what_a_sheet_keeps_of_a_file_is_no_drift_and_lapses_no_decision() -> None:
    with_map, without = FileRef("sky.exr", "ab", half_sky()), FileRef("sky.exr", "ab")
    assert alike(with_map, without) and decoded(encoded(with_map)) == without
    own = sky()
    del own["dome"]["pixels"]
    cell = scene(own).cell("environments.dome.texture")
    assert cell.grade is Grade.SAME


def test_its_row_follows_from_the_turn() -> None:
    from samelight.drift.follows import following

    turned = scene(sky(rotation=180))
    row = turned.table.row("marks.face.level.dome")
    assert row is not None
    causes = following(turned.table).causes(row, 0)
    assert [turned.table.rows[cause].parameter for cause in causes] == ["environments.dome.rotation"]


def test_what_is_shown_as_typed_has_no_pixels() -> None:
    stated = scene(sky()).sheets["A"].as_typed("environments", "dome", "texture")
    assert stated == {"texture": "sky.exr", "sha256": "ab"}


def test_a_turn_of_the_sky_changes_the_colour_of_the_light_on_the_face() -> None:
    """A face sees the warm half of a sky, or turned about the blue half: exactly these two chromaticities."""
    warm, blue = (1.0, 0.6, 0.4), (0.3, 0.5, 1.0)
    rgb = np.empty((32, 64, 3))
    rgb[:] = blue
    rgb[:, 16:48] = warm
    setup: Tree = {"dome": {"intensity": 1.0, "texture": "s.exr", "pixels": pixels_text(rgb)}}
    faint: Tree = {"lamp": {"type": "distant", "intensity": 1e-9, "direction": [0, 0, -1]}}
    turned = Scene(
        {"lights": faint, "environments": setup},
        "K",
        matching_faces(),
        K=shot(faint, environments=setup),
        A=shot(faint, environments={"dome": {**setup["dome"], "rotation": 180}}),
    )
    cell = turned.cell("subject.face.colour")
    for side, linear in ((cell.master, warm), (cell.value, blue)):
        assert isinstance(side, Colour)
        x, y, z = (sum(a * b for a, b in zip(row, linear, strict=True)) for row in TO_XYZ["rec709"].tolist())
        assert (side.u, side.v) == pytest.approx(xy_to_uv(x / (x + y + z), y / (x + y + z)), abs=2e-4)
    assert cell.grade is not Grade.SAME

"""Photometric profiles, by hand.

Source: ANSI/IES LM-63-02, annex of examples and key definitions, and EULUMDAT of 1998, from memory for the order of the numbers; the figures of the samples
are made up, so that each can be worked out with a pencil. Types A and B: CIE 121-1996. How USD scales angles (`ies:angleScale`) and normalises is the schema text of UsdLux's
ShapingAPI (OpenUSD 25.05, from memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from samelight.light.marks import Source, illuminance
from samelight.light.profile import Profile, profile_of, scaled
from samelight.sources.profiles.eulumdat import eulumdat_text
from samelight.sources.profiles.files import read_profile
from samelight.sources.profiles.lm63 import lm63_text
from samelight.sources.profiles.numbers import UnreadableProfileError, held_text

SAMPLE = """IESNA:LM-63-2002
[TEST] by hand
[MANUFAC] nobody
TILT=INCLUDE
1
3
0 45 90
1.0 0.95 0.9
2 1500 10 5 3 1 2 0.3 0.3 0
1.0 0.5 120
0 22.5 45, 67.5 90
0 45 90
100 90 60 20 0
100 80 40 10 0
100 70 20 0 0
"""


def profile(text: str = SAMPLE) -> Profile:
    found = profile_of(lm63_text(text))
    assert found is not None
    return found


def test_the_sample_by_hand() -> None:
    """Candelas times the multiplier 10 and the factors 1.0 and 0.5; the tilt of the lamp is passed over."""
    read = profile()
    assert read.polar.tolist() == [0, 22.5, 45, 67.5, 90] and read.planes.tolist() == [0, 45, 90]
    assert read.peak == 500.0 and read.intensity[2].tolist() == [500, 350, 100, 0, 0]
    # The mean of the planes, weighed by the angle between them: 100, 80, 40, 10, 0; half of it at 22.5 + 30/40 x 22.5.
    assert read.beam == pytest.approx(2.0 * (22.5 + 0.75 * 22.5))


@pytest.mark.parametrize(
    ("polar", "about", "share"),
    [
        (0.0, 10.0, 1.0),
        (45.0, 0.0, 0.6),
        (45.0, 45.0, 0.4),
        (45.0, 22.5, 0.5),  # between two planes
        (11.25, 90.0, 0.85),  # between two angles
        (45.0, 180.0, 0.6),  # alike in all quarters
        (45.0, 270.0, 0.2),
        (45.0, -45.0, 0.4),
        (120.0, 0.0, 0.0),  # beyond its angles
    ],
)
def test_intensities_between_angles(polar: float, about: float, share: float) -> None:
    assert profile().share(np.array([polar]), np.array([about]))[0] == pytest.approx(share)


def test_both_sides_alike_and_all_round() -> None:
    sides = profile_of("0 90; 0 90 180; 4 0 2 0 0 0")
    full = profile_of("0 90; 0 90 180 270; 4 0 3 0 2 0 1 0")
    assert sides is not None and full is not None
    at = np.zeros(3)
    assert sides.share(at, np.array([90.0, 270.0, 135.0])).tolist() == [0.5, 0.5, 0.25]
    assert full.share(at, np.array([270.0, 315.0, 360.0])).tolist() == [0.25, 0.625, 1.0]


def test_a_lambertian_profile_keeps_a_quarter_of_an_even_light() -> None:
    angles = np.arange(91.0)
    text = f"{' '.join(map(str, angles))}; 0; {' '.join(str(math.cos(math.radians(a))) for a in angles)}"
    read = profile_of(text)
    assert read is not None and read.mean == pytest.approx(0.25, rel=1e-3)
    even = profile_of("0 180; 0; 7 7")
    assert even is not None and even.mean == 1.0 and even.beam == 360.0


def test_angles_are_scaled_from_either_end() -> None:
    """theta / scale from the axis, or (theta - 180) / -scale + 180 from behind."""
    polar = np.array([10.0, 90.0, 170.0])
    assert scaled(polar, np.full(3, 0.5)).tolist() == [20.0, 180.0, 340.0]
    assert scaled(polar, np.full(3, -2.0)) == pytest.approx([95.0, 135.0, 175.0])


def lamp(mark: tuple[float, float, float], **more: object) -> float:
    profiles = np.array([profile()], dtype=np.object_)
    source = Source(
        "point",
        8.0,
        position=[(0, 0, 0)],
        direction=[(0, -1, 0)],
        across=[(1, 0, 0)],
        profiles=profiles,
        **more,  # type: ignore[arg-type]
    )
    return float(illuminance(source, [mark])[0])


def test_a_lamp_with_a_profile() -> None:
    """8 by four pi at no size: 2 as a point's share, over the square of 2 m, times what leaves that way."""
    straight = lamp((0, -2, 0))
    assert lamp((2, -2, 0)) == pytest.approx(straight * 0.6 / 2.0)
    # Its own +Y lies along the cross product of +X and where it shines to.
    assert lamp((0, -2, 2)) == pytest.approx(straight * 0.2 / 2.0)
    assert lamp((0, 2, 0)) == 0.0
    assert lamp((2, -2, 0), profile_scale=2.0) == pytest.approx(straight * 0.9 / 2.0)
    assert lamp((0, -2, 0), profile_normalize=True) == pytest.approx(straight / profile().mean)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (("TILT=INCLUDE", "no tilt"), "no line TILT="),
        (("TILT=INCLUDE", "TILT=lamp.tlt"), "another file"),
        (("0 22.5 45", "0 x 45"), "not all numbers"),
        (("5 3 1 2", "5 3 2 2"), "type B photometry and says nothing"),
        (("5 3 1 2", "5 3 3 2"), "type A photometry and says nothing"),
        (("5 3 1 2", "5 3 4 2"), "type of photometry"),
        (("5 3 1 2", "1 3 1 2"), "fewer than two polar angles"),
        (("5 3 1 2", "5e9 3 1 2"), "numbers of angles"),
        (("100 70 20 0 0\n", ""), "cut off"),
        (("0 22.5 45", "0 50 45"), "do not ascend"),
        (("100 80 40", "100 -80 40"), "below 0"),
        (("100 80 40", "100 nan 40"), "is none"),
        (("1\n3\n", "1\n-3\n"), "tilt has no number"),
        ((SAMPLE[SAMPLE.index("1500") :], ""), "cut off"),
    ],
)
def test_a_bad_profile_is_a_sentence(change: tuple[str, str], says: str) -> None:
    assert change[0] in SAMPLE
    with pytest.raises(UnreadableProfileError, match=says):
        lm63_text(SAMPLE.replace(*change, 1))


def eulumdat(symmetry: int, planes: int, rows: list[list[float]], sets: int = 1, **lines: str) -> str:
    """A file of EULUMDAT with three polar angles, whose lamps have 2000 lm; `lines` are others by their numbers (`line_24`)."""
    step = 360 / planes
    head = [
        "nobody",
        "1",
        str(symmetry),
        str(planes),
        str(step),
        "3",
        "45",
        "",
        "a lamp",
        "",
        "",
        "",
        *["0"] * 11,
    ]
    head += ["1", "0", str(sets)]
    lamps = ["1", "halogen", "2000", "3000 K", "1A", "50"] * sets
    angles = [str(plane * step) for plane in range(planes)] + ["0", "45", "90"]
    text = [*head, *lamps, *["0.5"] * 10, *angles, *(str(value) for row in rows for value in row)]
    for line, said in lines.items():
        text[int(line.removeprefix("line_")) - 1] = said
    return "\r\n".join([*text, ""])


def read_eulumdat(text: str) -> Profile:
    found = profile_of(eulumdat_text(text.replace("\r\n", "\n")))
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("symmetry", "rows", "at_45"),
    [
        (0, [[100, 50, 0], [100, 40, 0], [100, 30, 0], [100, 20, 0]], (50, 40, 30, 20)),
        (1, [[100, 50, 0]], (50, 50, 50, 50)),
        (2, [[100, 50, 0], [100, 40, 0], [100, 30, 0]], (50, 40, 30, 40)),
        (3, [[100, 20, 0], [100, 50, 0], [100, 40, 0]], (50, 40, 50, 20)),  # C270, C0, C90
        (4, [[100, 50, 0], [100, 40, 0]], (50, 40, 50, 40)),
    ],
)
def test_eulumdat_by_its_symmetry(symmetry: int, rows: list[list[float]], at_45: tuple[int, ...]) -> None:
    """Candela per 1000 lm of lamps that have 2000: the peak is 200 cd, whatever set of lamps is taken."""
    for sets in (1, 3):
        read = read_eulumdat(eulumdat(symmetry, 4, rows, sets))
        assert read.peak == 200.0
        shares = read.share(np.full(4, 45.0), np.array([0.0, 90.0, 180.0, 270.0]))
        assert shares.tolist() == [one / 100.0 for one in at_45]
        between = read.share(np.full(2, 22.5), np.array([45.0, 315.0]))
        assert between.tolist() == pytest.approx([(1 + (at_45[0] + at_45[k]) / 200) / 2 for k in (1, 3)])


def test_eulumdat_as_it_is_written() -> None:
    """A factor, a comma before decimals, no set of lamps, and the file as a scene names it."""
    rows = [[100.0, 50.0, 0.0]]
    assert read_eulumdat(eulumdat(1, 4, rows, line_24="0,5")).peak == 100.0
    assert read_eulumdat(eulumdat(1, 4, rows, sets=0)).peak == 100.0


def test_a_profile_is_read_by_its_ending(tmp_path: Path) -> None:
    (tmp_path / "lamp.LDT").write_text(eulumdat(1, 4, [[100, 50, 0]]), newline="")
    (tmp_path / "lamp.ies").write_text(SAMPLE, newline="\r\n")
    assert read_profile(tmp_path / "lamp.LDT") == "0 45 90; 0; 200 100 0"
    assert read_profile(tmp_path / "lamp.ies") == lm63_text(SAMPLE)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (SAMPLE, "line 3 is no number"),
        ("", "cut off"),
        (eulumdat(5, 4, [[1, 1, 1]]), "symmetry in line 3"),
        (eulumdat(2, 6, [[1, 1, 1]] * 4), "do not go with its symmetry"),
        (eulumdat(2, 4, [[1, 1, 1]] * 3, line_45="170"), "do not go with its symmetry"),
        (eulumdat(3, 4, [[1, 1, 1]] * 3, line_44="80"), "do not go with its symmetry"),
        (eulumdat(4, 4, [[1, 1, 1]] * 2, line_44="80"), "do not go with its symmetry"),
        (eulumdat(0, 4, [[1, 1, 1]] * 4, line_44="180"), "do not ascend"),
        (eulumdat(0, 4, [[1, 1, 1]] * 4, line_44="190"), "do not ascend"),
        (eulumdat(1, 4, [[1, 1, 1]], line_48="89.9999999"), "finer than a sheet holds"),
        (eulumdat(0, 4, [[1, 1, 1]] * 3), "before the end of its intensities"),
        (eulumdat(1, 4, [[1, -1, 1]]), "below 0"),
        (eulumdat(1, 4, [[1, math.nan, 1]]), "is none"),
        (eulumdat(1, 4, [[1, 1, 1]], line_4="1e9"), "number of planes"),
        (eulumdat(1, 4, [[1, 1, 1]], line_6="0"), "number of angles"),
        (eulumdat(1, 4, [[1, 1, 1]], line_26="nan"), "sets of lamps"),
        (eulumdat(1, 4, [[1, 1, 1]], line_29="inf"), "is none"),
        (eulumdat(3, 4, [[1, 1, 1]] * 3, line_43="inf"), "is none"),
    ],
)
def test_a_bad_eulumdat_file_is_a_sentence(text: str, says: str) -> None:
    with pytest.raises(UnreadableProfileError, match=says):
        eulumdat_text(text.replace("\r\n", "\n"))


def test_a_profile_whose_light_lies_between_the_angles_that_are_kept_is_a_sentence() -> None:
    fine = [180.0 * step / 4999 for step in range(5000)]
    with pytest.raises(UnreadableProfileError, match="finer than a sheet holds"):
        held_text(fine, [0.0], [1.0 if step == 1 else 0.0 for step in range(5000)])


ANGLES = list(range(-90, 91, 10))


def turned(kind: int, vertical: list[int], horizontal: list[int], at: Callable[[int, int], float]) -> str:
    values = [at(h, v) for h in horizontal for v in vertical]
    sizes = f"{len(vertical)} {len(horizontal)}"
    return f"TILT=NONE\n1 -1 1 {sizes} {kind} 2 0 0 0\n1 1 1\n" + " ".join(
        map(str, [*vertical, *horizontal, *values])
    )


@pytest.mark.parametrize("kind", [2, 3])
@pytest.mark.parametrize(
    ("x", "y"), [(0.0, 0.0), (0.5, 0.0), (0.0, 0.5), (0.6, -0.4), (-0.6, 0.4), (0.2, 0.9)]
)
def test_types_a_and_b(kind: int, x: float, y: float) -> None:
    """What falls by a degree of either angle; type B measures the horizontal one to the light's own +X, type A the vertical one to +Y.

    Where the light shines to (x, y, ahead): of type B sin h = x and tan v = y / ahead, of type A sin v = y and tan h = x / ahead. A file
    that begins at 0 is alike on both sides; one from -90 to 90 has more light to the left, as seen by the light.
    """
    read = profile(turned(kind, ANGLES, ANGLES[9:], lambda h, v: 300 - h - v))
    whole = profile(turned(kind, ANGLES, ANGLES, lambda h, v: 300 - h - v))
    ahead = math.sqrt(1.0 - x * x - y * y)
    h, v = (math.asin(x), math.atan2(y, ahead)) if kind == 2 else (math.atan2(x, ahead), math.asin(y))
    expected = (300 - abs(math.degrees(h)) - math.degrees(v)) / 390
    found = read.share(np.array([math.degrees(math.acos(ahead))]), np.array([math.degrees(math.atan2(y, x))]))
    assert read.peak == 390.0
    assert found[0] == pytest.approx(expected, abs=0.003)
    to_the_left = whole.share(
        np.array([math.degrees(math.acos(ahead))]), np.array([math.degrees(math.atan2(y, x))])
    )
    assert to_the_left[0] * whole.peak == pytest.approx(300 - math.degrees(h) - math.degrees(v), abs=1.2)


def test_beyond_the_angles_of_a_floodlight_there_is_no_light() -> None:
    read = profile(turned(2, [-20, 0, 20], [0, 10], lambda h, v: 1.0))
    inside, outside = (
        ((9.0, 0.0), (19.0, 90.0), (19.0, 270.0), (18.0, 65.0)),
        ((13.0, 0.0), (23.0, 90.0), (90.0, 45.0)),
    )
    assert read.share(*map(np.array, zip(*inside, strict=True))).tolist() == pytest.approx([1.0] * 4)
    assert read.share(*map(np.array, zip(*outside, strict=True))).tolist() == pytest.approx([0.0] * 3)


@pytest.mark.parametrize(
    ("vertical", "horizontal", "says"),
    [
        ([-10, 0, 10], [-10, 0], "says nothing"),
        ([-10, 0, 10], [5, 10], "says nothing"),
        ([0, 10], [0, 10], "says nothing"),
        ([-10, 10], [0], "says nothing"),
        ([-100, 10], [0, 10], "are not those of type B"),
        ([10, -10], [0, 10], "are not those of type B"),
    ],
)
def test_what_leaves_open_how_it_is_turned_is_a_sentence(
    vertical: list[int], horizontal: list[int], says: str
) -> None:
    with pytest.raises(UnreadableProfileError, match=says):
        lm63_text(turned(2, vertical, horizontal, lambda h, v: 1.0))


def test_a_fine_profile_is_thinned_and_keeps_its_ends() -> None:
    angles, planes = np.linspace(0, 180, 361), np.linspace(0, 360, 73)
    values = np.cos(np.radians(angles / 2)) * np.ones((73, 1))
    head = f"TILT=NONE\n1 1 1 {angles.size} {planes.size} 1 2 0 0 0\n1 1 1\n"
    read = profile(head + " ".join(map(str, [*angles, *planes, *values.ravel()])))
    assert read.intensity.size <= 4096
    assert (read.polar[0], read.polar[-1], read.planes[0], read.planes[-1]) == (0, 180, 0, 360)
    assert read.share(np.array([90.0]), np.array([50.0]))[0] == pytest.approx(math.sqrt(0.5), rel=1e-3)

"""Form factors against the catalogues of radiative heat transfer.

J. R. Howell, "A Catalog of Radiation Heat Transfer Configuration Factors" (its numbers stand beside the
cases), and the parallel and perpendicular rectangles of BR 187 (Building Research Establishment, 1991). The
formulas are written from memory unless a public restatement is named; each is also checked by adaptive
quadrature below.
"""

import math
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import dblquad

from samelight.light import levels, marks, shapes
from samelight.light.marks import Source


def row(*value: float) -> NDArray[Any]:
    return np.array([value], dtype=float)


def number(value: float) -> NDArray[Any]:
    return np.array([float(value)])


def disk(offset: float, height: float, radius: float, normal: tuple[float, ...]) -> float:
    """Form factor of a level disk above the mark, its centre `offset` along x and `height` up."""
    view = shapes.disk_view(
        row(offset, 0, height), row(*normal), radius=number(radius), direction=row(0, 0, -1)
    )
    return float(view[0] / math.pi)


def corner_rectangle(width: float, height: float, distance: float, normal: tuple[float, ...]) -> float:
    """Form factor of a level rectangle with one corner straight above the mark."""
    view = shapes.rect_view(
        row(width / 2, height / 2, distance),
        row(*normal),
        width=number(width),
        height=number(height),
        direction=row(0, 0, -1),
        across=row(1, 0, 0),
    )
    return float(view[0] / math.pi)


def sphere(distance: float, radius: float, tilt: int) -> float:
    normal = (math.sin(math.radians(tilt)), 0, math.cos(math.radians(tilt)))
    return float(shapes.sphere_view(row(0, 0, distance), row(*normal), radius=number(radius))[0] / math.pi)


@pytest.mark.parametrize(("height", "radius"), [(2, 1), (1, 1), (0.5, 3), (10, 0.2)])
def test_disk_on_its_axis(height: float, radius: float) -> None:
    """Howell B-12: 1 / (1 + (h / r)^2); 0.2 at h 2, r 1 (that figure: github.com/kanamesasaki/sterad, its
    example)."""
    assert disk(0, height, radius, (0, 0, 1)) == pytest.approx(1 / (1 + (height / radius) ** 2))
    assert disk(0, 2, 1, (0, 0, 1)) == pytest.approx(0.2)


@pytest.mark.parametrize(
    ("offset", "height", "radius"), [(1, 1, 0.5), (2, 0.7, 1), (0.3, 1, 1), (1, 1, 1), (1e-7, 1, 0.4)]
)
def test_disk_aside_in_a_parallel_plane(offset: float, height: float, radius: float) -> None:
    """Howell B-13 (from memory): (1 - (1 + H^2 - R^2) / sqrt(Z^2 - 4 R^2)) / 2 with H = h / a, R = r / a, Z =
    1 + H^2 + R^2."""
    h, r = height / offset, radius / offset
    z = 1 + h * h + r * r
    expected = (1 - (1 + h * h - r * r) / math.sqrt(z * z - 4 * r * r)) / 2
    assert disk(offset, height, radius, (0, 0, 1)) == pytest.approx(expected, abs=1e-8)


@pytest.mark.parametrize(("height", "radius"), [(1, 2), (2, 1), (0.3, 1)])
def test_disk_seen_from_an_upright_surface(height: float, radius: int) -> None:
    """The disk on its axis, the surface turned by 90 degrees so that the horizon halves it
    (github.com/kanamesasaki/sterad, the reference value of its test): atan(r / h) / pi - r h / (pi (r^2 +
    h^2))."""
    expected = math.atan(radius / height) / math.pi - radius * height / (math.pi * (radius**2 + height**2))
    assert disk(0, height, radius, (1, 0, 0)) == pytest.approx(expected)


@pytest.mark.parametrize(
    ("width", "height", "distance"), [(1, 1, 1), (2, 0.5, 1), (10, 3, 0.7), (0.1, 0.2, 5)]
)
def test_rectangle_in_a_parallel_plane(width: float, height: float, distance: float) -> None:
    """Howell B-3; BR 187, parallel receiver at a corner, X = W / S, Y = H / S (restated in the documentation
    of github.com/fuyans/fsetoolsGUI)."""
    x, y = width / distance, height / distance
    a, b = math.sqrt(1 + x * x), math.sqrt(1 + y * y)
    expected = (x / a * math.atan(y / a) + y / b * math.atan(x / b)) / (2 * math.pi)
    assert corner_rectangle(width, height, distance, (0, 0, 1)) == pytest.approx(expected)


@pytest.mark.parametrize(
    ("width", "height", "distance"), [(1, 1, 1), (2, 0.5, 1), (10, 3, 0.7), (0.1, 0.2, 5)]
)
def test_rectangle_in_a_perpendicular_plane(width: float, height: float, distance: float) -> None:
    """Howell B-4; BR 187, perpendicular receiver (restated in the documentation of
    github.com/fuyans/fsetoolsGUI)."""
    x, y = width / distance, height / distance
    expected = (math.atan(x) - math.atan(x / math.sqrt(y * y + 1)) / math.sqrt(y * y + 1)) / (2 * math.pi)
    assert corner_rectangle(width, height, distance, (0, 1, 0)) == pytest.approx(expected)


@pytest.mark.parametrize(("distance", "radius"), [(5, 2), (1, 0.999), (100, 1)])
def test_sphere_straight_ahead(distance: int, radius: float) -> None:
    """Howell B-39: (r / h)^2; 0.16 at h 5, r 2 (that figure: github.com/kanamesasaki/sterad, its example)."""
    assert sphere(distance, radius, 0) == pytest.approx((radius / distance) ** 2)
    assert sphere(5, 2, 0) == pytest.approx(0.16)


@pytest.mark.parametrize(("distance", "radius", "tilt"), [(2, 1, 30), (2, 1, 59), (3, 0.5, 80)])
def test_sphere_wholly_above_the_horizon(distance: int, radius: float, tilt: int) -> None:
    """Howell B-43 (from memory): cos t (r / h)^2 while the sphere clears the horizon."""
    assert sphere(distance, radius, tilt) == pytest.approx(
        math.cos(math.radians(tilt)) * (radius / distance) ** 2
    )


@pytest.mark.parametrize(("distance", "radius"), [(2, 1), (1.2, 1), (10, 1)])
def test_sphere_halved_by_the_horizon(distance: float, radius: int) -> None:
    """Howell B-38 (from memory): a surface along the line to the centre: (atan(1 / s) - s / H^2) / pi, s =
    sqrt(H^2 - 1)."""
    h = distance / radius
    s = math.sqrt(h * h - 1)
    assert sphere(distance, radius, 90) == pytest.approx((math.atan(1 / s) - s / h**2) / math.pi)


@pytest.mark.parametrize("tilt", [0, 40, 65, 90, 110, 119])
def test_sphere_by_quadrature(tilt: int) -> None:
    """scipy's adaptive quadrature over the cap that a sphere of half its distance fills."""
    normal = (math.sin(math.radians(tilt)), math.cos(math.radians(tilt)))

    def lit(turn: float, off: float) -> float:
        return max(normal[0] * math.sin(off) * math.cos(turn) + normal[1] * math.cos(off), 0) * math.sin(off)

    expected, _ = dblquad(lit, 0, math.pi / 6, 0, math.pi, epsabs=1e-9)
    assert sphere(2, 1, tilt) == pytest.approx(2 * expected / math.pi, abs=1e-7)


def test_tube_across_its_middle() -> None:
    """Howell B-31 (from memory): a surface facing the end plane of a cylinder, at right angles to its axis:
    with L = l / r, H = h / r, X = (1 + H)^2 + L^2, Y = (1 - H)^2 + L^2: atan(L / sqrt(H^2 - 1)) / (pi H) + L
    / pi ((X - 2 H) / (H sqrt(X Y)) atan(sqrt(X (H - 1) / (Y (H + 1)))) - atan(sqrt((H - 1) / (H + 1))) / H).
    Two halves make the whole tube."""
    for length, distance, radius in ((4.0, 2.0, 0.5), (1.0, 3.0, 1.0), (20.0, 1.5, 1.0)):
        l_, h = length / 2 / radius, distance / radius
        x, y = (1 + h) ** 2 + l_**2, (1 - h) ** 2 + l_**2
        half = math.atan(l_ / math.sqrt(h * h - 1)) / (math.pi * h) + l_ / math.pi * (
            (x - 2 * h) / (h * math.sqrt(x * y)) * math.atan(math.sqrt(x * (h - 1) / (y * (h + 1))))
            - math.atan(math.sqrt((h - 1) / (h + 1))) / h
        )
        luminance = 100.0
        tube = Source(
            "cylinder",
            luminance,
            levels.LUMINANCE,
            position=[(0, distance, 0)],
            across=[(1, 0, 0)],
            radius=radius,
            length=length,
        )
        assert marks.illuminance(tube, [(0, 0, 0)])[0] == pytest.approx(
            math.pi * luminance * 2 * half, rel=1e-6
        )


@pytest.mark.parametrize("normal", [(0, 0, 1), (0.6, 0, 0.8), (0.8, 0.6, 0), (-0.6, 0, 0.8)])
def test_disk_and_rectangle_by_quadrature(normal: tuple[float, ...]) -> None:
    """scipy's adaptive quadrature of cos cos / (pi d^2) over the emitter, partly below the horizon."""
    height = 1.3

    def arriving(x: float, y: float) -> float:
        squared = x * x + y * y + height**2
        return max(normal[0] * x + normal[1] * y + normal[2] * height, 0) * height / (math.pi * squared**2)

    expected, _ = dblquad(lambda y, x: arriving(x, y), 0, 2, 0, 1, epsabs=1e-8)
    assert corner_rectangle(2, 1, height, normal) == pytest.approx(expected, abs=1e-6)
    expected, _ = dblquad(
        lambda turn, r: r * arriving(0.4 + r * math.cos(turn), r * math.sin(turn)),
        0,
        1,
        0,
        2 * math.pi,
        epsabs=1e-8,
    )
    assert disk(0.4, height, 1, normal) == pytest.approx(expected, abs=1e-6)

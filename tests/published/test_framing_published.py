"""Where a place is in a picture, against the cameras of OpenUSD and of glTF.

usd-core's own `Gf.Camera` and `Gf.Frustum` (pxr) project the same places; their projection is that of the OpenGL convention,
-1 to 1 across and up. Policies for pictures of another shape: UsdRenderSettingsBase, aspectRatioConformPolicy (OpenUSD, usdRender
schema). glTF 2.0 (ISO/IEC 12113:2022), section 3.10.3.2 has the finite perspective matrix.
"""

from __future__ import annotations

import math
import random

import pytest
from pxr import Gf

from samelight.light.framing import (
    CROP,
    EXPAND,
    HEIGHT,
    PIXELS,
    WIDTH,
    CameraView,
    Gate,
    Lens,
    gate_of,
    lens_of_angles,
    lens_of_focal,
    spot_of,
)


def a_camera(of: random.Random) -> Gf.Camera:
    camera = Gf.Camera()
    camera.focalLength = of.uniform(8.0, 300.0)
    camera.horizontalAperture, camera.verticalAperture = of.uniform(5.0, 70.0), of.uniform(4.0, 50.0)
    camera.horizontalApertureOffset, camera.verticalApertureOffset = of.uniform(-9.0, 9.0), of.uniform(-9, 9)
    turn = [Gf.Rotation(axis, of.uniform(-180, 180)) for axis in Gf.Matrix3d(1.0)]
    place = Gf.Vec3d(*(of.uniform(-20.0, 20.0) for _ in range(3)))
    camera.transform = Gf.Matrix4d(turn[0] * turn[1] * turn[2], place)
    return camera


def test_places_are_where_the_cameras_of_usd_have_them() -> None:
    of = random.Random(16)
    for _ in range(200):
        camera = a_camera(of)
        lens = lens_of_focal(
            camera.focalLength,
            camera.horizontalAperture,
            camera.verticalAperture,
            camera.horizontalApertureOffset,
            camera.verticalApertureOffset,
        )
        assert lens.width is not None and lens.height is not None
        own = Gate(lens.width, lens.height, lens.right, lens.up)
        axes = [tuple(camera.transform.TransformDir(axis)) for axis in Gf.Matrix3d(1.0)]
        view = CameraView(
            tuple(camera.transform.ExtractTranslation()), tuple(-x for x in axes[2]), axes[0], own
        )
        frustum = camera.frustum
        matrix = frustum.ComputeViewMatrix() * frustum.ComputeProjectionMatrix()
        for _ in range(5):
            place = Gf.Vec3d(*(of.uniform(-40.0, 40.0) for _ in range(3)))
            spot = spot_of(tuple(place), 0.3, view)
            behind = frustum.ComputeViewMatrix().Transform(place)[2] >= 0.0
            assert (spot is None) == behind
            if spot is None:
                continue
            x, y, _ = matrix.Transform(place)
            assert (spot.x, spot.y) == pytest.approx(((x + 1.0) / 2.0, (1.0 - y) / 2.0), rel=1e-9, abs=1e-9)
            # A disk that faces the camera: its rim to the right and above is as far away as its middle.
            right, up = (place + 0.3 * Gf.Vec3d(*axis) for axis in axes[:2])
            assert spot.wide == pytest.approx(abs(matrix.Transform(right)[0] - x) / 2.0, rel=1e-9)
            assert spot.high == pytest.approx(abs(matrix.Transform(up)[1] - y) / 2.0, rel=1e-9)


def test_places_are_where_the_perspective_of_gltf_has_them() -> None:
    of = random.Random(3)
    for _ in range(200):
        upright, aspect = of.uniform(0.1, 2.5), of.uniform(0.4, 3.0)
        gate = gate_of(lens_of_angles(None, math.degrees(upright)), aspect)
        x, y, z = of.uniform(-5, 5), of.uniform(-5, 5), -of.uniform(0.2, 30.0)
        spot = spot_of((x, y, z), 0.1, CameraView((0.0, 0.0, 0.0), (0.0, 0.0, -1.0), (1.0, 0.0, 0.0), gate))
        assert spot is not None
        # The first two rows of the matrix, and the last, by which all are divided.
        scale = 1.0 / math.tan(upright / 2.0)
        clip = scale / aspect * x / -z, scale * y / -z
        assert (2.0 * spot.x - 1.0, 1.0 - 2.0 * spot.y) == pytest.approx(clip, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize(
    ("policy", "wide", "tall"),
    [
        # An aperture of 2 : 1 in a picture of 4 : 1, and in one of 1 : 1.
        (EXPAND, (4.0, 1.0), (2.0, 2.0)),
        (CROP, (2.0, 0.5), (1.0, 1.0)),
        (WIDTH, (4.0, 1.0), (1.0, 1.0)),
        (HEIGHT, (2.0, 0.5), (2.0, 2.0)),
        (PIXELS, (2.0, 1.0), (2.0, 1.0)),
        ("something else", (4.0, 1.0), (2.0, 2.0)),
    ],
)
def test_pictures_of_another_shape(policy: str, wide: tuple[float, float], tall: tuple[float, float]) -> None:
    lens = Lens(2.0, 1.0, 0.25, -0.125)
    assert gate_of(lens, 4.0, policy) == Gate(*wide, 0.25, -0.125)
    assert gate_of(lens, 1.0, policy) == Gate(*tall, 0.25, -0.125)


def test_a_lens_that_is_none() -> None:
    for of in ((0.0, 36.0, 24.0), (50.0, 0.0, 24.0), (50.0, 36.0, -1.0)):
        with pytest.raises(ValueError, match="above 0"):
            lens_of_focal(*of)
    for angles in ((0.0, None), (None, 180.0), (None, None)):
        with pytest.raises(ValueError, match="angle of view"):
            lens_of_angles(*angles)

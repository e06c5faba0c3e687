"""What a mark receives: the illuminance from each light, and how large the light looks.

A *mark* is a place that matters, such as a face. Everything is computed for n shots at once: vectors are (n,
3) arrays, numbers (n,) arrays or one number for all, and NaN means "not given" (a size then takes UsdLux's
fallback, a cone then does not cut). A result of NaN means "not known".

What is left out: nothing stands between light and mark (occlusion is unknown here), no bounce light, no
colour (levels are taken as given; multiply a
luminance in where it matters). Photometric results describe a made-up scene; on a real set a light meter and
licensed practice decide.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from samelight.light import cylinder, levels, shapes, solid_angles
from samelight.light.elementary import arcsin, sin
from samelight.light.mesh import Mesh
from samelight.light.rows import Array, cross, lengths, level_across, numbers, projection, unit, vectors
from samelight.light.shaped import Profiled, Shaped, lit_direction, shaped_share
from samelight.light.sky_map import received_of_maps
from samelight.light.textured import Rects, textured_share

Numbers = npt.ArrayLike

_NOT_GIVEN = float("nan")
# A disk or rect smaller than this share of its distance is taken as a point: an error under 1e-6, where its
# closed form would lose more to rounding.
_FAR = 3e-4
# Lights without a size or a width are this share of their distance across, which leaves the limit of their
# closed form.
_THIN = 1e-6


@dataclass(frozen=True)
class Source:
    """One light over n shots.

    `shape`: point, spot, sphere, disk, rect, cylinder, distant, environment or dome. `level` and `quantity`
    are what `levels.emitted` (relative) or `levels.photometric` return. `position` in metres; `direction` is
    where it shines to; `across` is its own +X (the width of a rect, the axis of a cylinder; level if not
    given). Sizes in metres; `angle`, `cone` (half angle) in degrees; `softness` 0..1; `inner_cone` where a cone fades as glTF's do (see `shaping.gltf_cone_share`), degrees; `focus` the exponent;
    `focus_tint` the luminance of that tint. `mean` is the mean of an environment's texture. `maps` (n,) are the pictures of an
    environment or on a rect (`sky_map.Panorama`, None for an even one), `turn` (n, 3) an environment's rotation, tilt and roll in
    degrees, and `tint` (n, 3) what the pictures are multiplied with, linear Rec.709 of luminance 1.
    `profiles` (n,) are photometric profiles (`profile.Profile`, None without one), `profile_scale` scales their angles as UsdLux's
    `ies:angleScale`, and where `profile_normalize` they shape the light and do not dim it.
    `meshes` (n,) are the triangles of a mesh (`mesh.Mesh`).
    """

    shape: str
    level: Numbers
    quantity: str = levels.RELATIVE
    position: Numbers | None = None
    direction: Numbers | None = None
    across: Numbers | None = None
    radius: Numbers = _NOT_GIVEN
    width: Numbers = _NOT_GIVEN
    height: Numbers = _NOT_GIVEN
    length: Numbers = _NOT_GIVEN
    angle: Numbers = _NOT_GIVEN
    cone: Numbers = _NOT_GIVEN
    softness: Numbers = 0.0
    inner_cone: Numbers = _NOT_GIVEN
    focus: Numbers = 0.0
    focus_tint: Numbers = 0.0
    mean: Numbers = 1.0
    maps: npt.NDArray[np.object_] | None = None
    turn: Numbers = 0.0
    tint: Numbers = 1.0
    profiles: npt.NDArray[np.object_] | None = None
    profile_scale: Numbers = 0.0
    profile_normalize: npt.ArrayLike = False
    meshes: npt.NDArray[np.object_] | None = None


def illuminance(source: Source, mark: Numbers, normal: Numbers | None = None) -> Array:
    """What a surface at `mark` (n, 3) receives from `source`: lx, or its relative equivalent; shape (n,).

    `normal` (n, 3) is the surface's; None means that it faces the light (the centre of an area light). A
    point or spot gives intensity x cos / distance^2. Area lights are even Lambertian emitters seen by their
    exact form factors (see `shapes`), cut by the surface's horizon. A distant light gives its level x cos,
    its disc cut by the horizon. An environment is even over the hemisphere, pi x luminance x mean, or has a map that is
    integrated over it. Cone,
    softness and focus are UsdLux's, taken at each point of the light (see `shaped`). NaN where the position, direction
    or level is not given, where the light stands on the mark, for other shapes, and for a quantity that its shape
    cannot turn into illuminance.

    >>> one_candela = Source("point", 100.0, levels.INTENSITY, position=[(0, 2, 0)])
    >>> illuminance(one_candela, [(0, 0, 0)])
    array([25.])
    """
    place = vectors(mark)
    if source.shape in ("environment", "dome"):
        return _from_environment(source, place, normal)
    facing = None if normal is None else unit(vectors(normal))
    if source.shape == "distant":
        return _from_distant(source, place, facing)
    if source.shape not in ("point", "spot", *levels.AREA_SHAPES) or source.position is None:
        return np.full(place.shape[0], np.nan)
    to_centre = vectors(source.position) - place
    facing = unit(to_centre) if facing is None else facing
    to_centre, facing = np.broadcast_arrays(to_centre, facing)
    received = _intensity(source) * _per_intensity(source, to_centre, facing)
    if source.shape == "rect" and source.maps is not None:
        received = received * _texture_share(source, source.maps, to_centre, facing)
    return (
        received * shaped_share(_shaped(source, to_centre.shape[0]), to_centre, facing)
        if _is_shaped(source)
        else received
    )


def _texture_share(source: Source, maps: npt.NDArray[np.object_], to_centre: Array, facing: Array) -> Array:
    """How much of a rect's light its texture lets through to marks, times its colour; shape (n,)."""
    count = to_centre.shape[0]
    pictured = np.flatnonzero([one is not None for one in maps.tolist()])
    share = np.ones(count)
    if pictured.size:
        sized = (source.width, levels.FALLBACK_WIDTH), (source.height, levels.FALLBACK_HEIGHT)
        width, height = (np.broadcast_to(_given(size, otherwise), (count,)) for size, otherwise in sized)
        direction, across, tint = (
            np.broadcast_to(part, (count, 3))[pictured]
            for part in (_directions(source), _across(source), numbers(source.tint))
        )
        share[pictured] = textured_share(
            maps[pictured],
            tint,
            to_centre[pictured],
            facing[pictured],
            Rects(width[pictured], height[pictured], direction, across),
        )
    return share


def shaping_share(source: Source, mark: Numbers, normal: Numbers | None = None) -> Array:
    """The share of a placed light that its cone and focus let through to `mark`, shape (n,); arguments as `illuminance`.

    >>> lamp = Source("spot", 1.0, position=[(0, 2, 0)], direction=[(0, -1, 0)], cone=40.0, focus=1.0)
    >>> shaping_share(lamp, [(0, 0, 0), (2, 0, 0)]).round(3)
    array([1., 0.])
    """
    to_centre = vectors(source.position if source.position is not None else np.nan * np.ones(3)) - vectors(
        mark
    )
    facing = unit(to_centre) if normal is None else unit(vectors(normal))
    to_centre, facing = np.broadcast_arrays(to_centre, facing)
    return shaped_share(_shaped(source, to_centre.shape[0]), to_centre, facing)


def _from_environment(source: Source, place: Array, normal: Numbers | None) -> Array:
    count = place.shape[0]
    if source.quantity not in (levels.RELATIVE, levels.LUMINANCE):
        return np.full(count, np.nan)
    even = np.pi * numbers(source.level) * numbers(source.mean) * np.ones(count)
    if source.maps is None:
        return even
    facing = np.full((count, 3), np.nan) if normal is None else unit(vectors(normal))
    turn, tint = (np.broadcast_to(numbers(part), (count, 3)) for part in (source.turn, source.tint))
    return even / np.pi * received_of_maps(source.maps, facing, turn, tint)


def _from_distant(source: Source, place: Array, facing: Array | None) -> Array:
    if source.quantity not in (levels.RELATIVE, levels.ILLUMINANCE):
        return np.full(place.shape[0], np.nan)
    level = numbers(source.level) * np.ones(place.shape[0])
    angle = np.minimum(_given(source.angle, levels.FALLBACK_ANGLE), 360.0)
    if source.quantity == levels.RELATIVE and (angle > 180.0).any():
        level = level * np.array([levels.facing_share(one) for one in angle.tolist()])
    if facing is None:
        return level
    towards_light = -_directions(source)
    sine, cosine = sin(np.radians(np.minimum(angle, 360.0 - angle) / 2.0)), projection(facing, towards_light)
    # Facing the light the view is pi sine^2; a light without width is its limit. One that is wider than half of all is
    # everything but a disc on the other side; facing it, the view is pi.
    with np.errstate(invalid="ignore", divide="ignore"):
        share = shapes.cap_view(cosine, sine) / (np.pi * sine**2)
    share = np.where(sine > 1e-6, share, np.maximum(cosine, 0.0))
    wide = 1.0 - shapes.cap_view(-cosine, sine) / np.pi
    return level * np.where(angle > 180.0, wide, share)


def _intensity(source: Source) -> Array:
    """The intensity along the light's brightest direction."""
    level = numbers(source.level)
    if source.shape in ("point", "spot"):
        if source.quantity == levels.LUMINANCE:
            return level * np.pi * numbers(source.radius) ** 2
        return level if source.quantity in (levels.RELATIVE, levels.INTENSITY) else level * np.nan
    if source.quantity == levels.RELATIVE:
        return level * levels.SEEN_SHARE[source.shape]
    if source.quantity == levels.INTENSITY:
        return level
    counts_per_area = source.quantity in (levels.LUMINANCE, levels.RELATIVE_LUMINANCE)
    return level * (_seen_area(source) if counts_per_area else np.nan)


def _seen_area(source: Source) -> Array:
    if source.shape == "mesh":
        return np.array([mesh.area if mesh is not None else np.nan for mesh in _meshes(source)])
    if source.shape == "rect":
        return _given(source.width, levels.FALLBACK_WIDTH) * _given(source.height, levels.FALLBACK_HEIGHT)
    radius = _given(source.radius, levels.FALLBACK_RADIUS)
    if source.shape == "cylinder":
        return 2.0 * radius * _given(source.length, levels.FALLBACK_LENGTH)
    return np.pi * radius**2


def _per_intensity(source: Source, to_centre: Array, normal: Array) -> Array:
    """Illuminance per intensity along the brightest direction, 1/m^2: the view of the light over its seen
    area."""
    distance = lengths(to_centre)
    with np.errstate(invalid="ignore", divide="ignore"):
        towards = to_centre / distance[:, None]
        as_point: Array = np.maximum(projection(towards, normal), 0.0) / distance**2
        if source.shape in ("point", "spot"):
            return np.where(distance > 0.0, as_point, np.nan)
        view, seen, size = _view(source, to_centre, normal, _THIN * distance)
        exact: Array = view / seen
        if source.shape in ("sphere", "cylinder", "mesh"):
            return exact
        tilted = as_point * np.maximum(-projection(towards, _directions(source)), 0.0)
        return np.where(size < _FAR * distance, tilted, exact)


def _view(source: Source, to_centre: Array, normal: Array, thinnest: Array) -> tuple[Array, Array, Array]:
    """The view of an area light, the area it shows and its largest size, no size being under `thinnest`."""
    radius = np.maximum(_given(source.radius, levels.FALLBACK_RADIUS), thinnest)
    if source.shape == "sphere":
        return shapes.sphere_view(to_centre, normal, radius=radius), np.pi * radius**2, radius
    if source.shape == "cylinder":
        length = np.maximum(_given(source.length, levels.FALLBACK_LENGTH), thinnest)
        view = cylinder.cylinder_view(to_centre, normal, radius=radius, length=length, axis=_across(source))
        return view, 2.0 * radius * length, np.maximum(radius, length)
    direction = np.broadcast_to(_directions(source), to_centre.shape)
    if source.shape == "mesh":
        return _mesh_view(source, to_centre, normal, direction)
    if source.shape == "disk":
        view = shapes.disk_view(to_centre, normal, radius=radius, direction=direction)
        return view, np.pi * radius**2, radius
    width = np.maximum(_given(source.width, levels.FALLBACK_WIDTH), thinnest)
    height = np.maximum(_given(source.height, levels.FALLBACK_HEIGHT), thinnest)
    view = shapes.rect_view(
        to_centre, normal, width=width, height=height, direction=direction, across=_across(source)
    )
    return view, width * height, np.maximum(width, height)


def _meshes(source: Source) -> list[Mesh | None]:
    return [None] if source.meshes is None else source.meshes.tolist()


def _mesh_view(
    source: Source, to_centre: Array, normal: Array, direction: Array
) -> tuple[Array, Array, Array]:
    meshes = np.broadcast_to(np.array(_meshes(source), dtype=np.object_), to_centre.shape[:1])
    across = np.broadcast_to(_across(source), to_centre.shape)
    view, area = np.full(len(meshes), np.nan), np.full(len(meshes), np.nan)
    for mesh in dict.fromkeys(meshes.tolist()):
        if mesh is not None:
            rows = np.flatnonzero([one == mesh for one in meshes.tolist()])
            view[rows] = mesh.view(to_centre[rows], normal[rows], direction[rows], across[rows])
            area[rows] = mesh.area
    return view, area, np.sqrt(area)


def _is_shaped(source: Source) -> bool:
    return (
        bool((numbers(source.cone) < 180.0).any() or (numbers(source.focus) > 0.0).any())
        or source.profiles is not None
    )


def _profiled(source: Source, count: int) -> Profiled | None:
    if source.profiles is None:
        return None
    return Profiled(
        np.broadcast_to(source.profiles, (count,)),
        np.broadcast_to(np.nan_to_num(numbers(source.profile_scale)), (count,)),
        np.broadcast_to(np.asarray(source.profile_normalize, dtype=np.bool_), (count,)),
        np.broadcast_to(_across(source), (count, 3)),
    )


def _shaped(source: Source, count: int) -> Shaped:
    """The light as its shaping is taken over so many marks: a point or spot that has a radius is a sphere."""
    shape = source.shape
    if shape in ("point", "spot"):
        shape = "sphere"
        radius = np.nan_to_num(numbers(source.radius))
    else:
        radius = _given(source.radius, levels.FALLBACK_RADIUS)
    return Shaped(
        shape,
        _directions(source),
        _across(source) if shape in ("rect", "cylinder") else None,
        radius,
        _given(source.width, levels.FALLBACK_WIDTH),
        _given(source.height, levels.FALLBACK_HEIGHT),
        _given(source.length, levels.FALLBACK_LENGTH),
        numbers(source.cone),
        numbers(source.softness),
        numbers(source.inner_cone),
        numbers(source.focus),
        numbers(source.focus_tint),
        _profiled(source, count),
    )


def direction_at(source: Source, mark: Numbers, normal: Numbers | None = None) -> Array:
    """Unit vectors (n, 3) along which the light reaches `mark`: its direction if distant, else from the part of it that lights
    the mark (`shaped.lit_direction`), whose surface has this normal (n, 3); None means that it faces the light.

    NaN for an environment and where it is not known.
    """
    place = vectors(mark)
    if source.shape == "distant":
        return np.broadcast_to(_directions(source), place.shape)
    if source.shape in levels.ENVIRONMENT_SHAPES or source.position is None:
        return np.full(place.shape, np.nan)
    to_centre = vectors(source.position) - place
    if source.shape not in ("rect", "disk", "sphere", "cylinder"):
        return -unit(to_centre)
    facing = unit(to_centre) if normal is None else unit(vectors(normal))
    to_centre, facing = np.broadcast_arrays(to_centre, facing)
    return -lit_direction(_shaped(source, to_centre.shape[0]), to_centre, facing)


def apparent_size(source: Source, mark: Numbers) -> Array:
    """How large the light looks from `mark` (n, 3), in degrees: the larger, the softer its shadows.

    The full angle of the round light that fills the same solid angle: exactly the apparent diameter of a
    sphere or a distant light, and one figure for every other shape, however it is turned. 0 for a point or a
    spot without a radius (with one it counts as a sphere), 180 for an environment (it fills the hemisphere),
    NaN where unknown.

    >>> ball = Source("sphere", 1.0, position=[(0, 0, 2)], radius=1.0)
    >>> apparent_size(ball, [(0, 0, 0)]).round(6)
    array([60.])
    """
    place = vectors(mark)
    if source.shape in ("environment", "dome"):
        return np.full(place.shape[0], 180.0)
    if source.shape == "distant":
        return _given(source.angle, levels.FALLBACK_ANGLE) * np.ones(place.shape[0])
    if source.shape not in ("point", "spot", *levels.AREA_SHAPES) or source.position is None:
        return np.full(place.shape[0], np.nan)
    solid = _solid_angle(source, vectors(source.position) - place)
    # Half the angle from 2 pi (1 - cos), by its sine: small lights keep their digits.
    return np.degrees(4.0 * arcsin(np.sqrt(np.clip(solid / (4.0 * np.pi), 0.0, 1.0))))


def _solid_angle(source: Source, to_centre: Array) -> Array:
    distance = lengths(to_centre)
    radius = _given(source.radius, levels.FALLBACK_RADIUS)
    if source.shape == "mesh":
        direction = np.broadcast_to(_directions(source), to_centre.shape)
        return _mesh_view(source, to_centre, unit(to_centre), direction)[0]
    if source.shape in ("point", "spot"):
        return solid_angles.sphere_solid_angle(distance, np.nan_to_num(numbers(source.radius)))
    if source.shape == "sphere":
        return solid_angles.sphere_solid_angle(distance, radius)
    if source.shape == "cylinder":
        length = _given(source.length, levels.FALLBACK_LENGTH)
        return cylinder.cylinder_solid_angle(to_centre, radius=radius, length=length, axis=_across(source))
    direction = np.broadcast_to(_directions(source), to_centre.shape)
    if source.shape == "disk":
        return solid_angles.disk_solid_angle(to_centre, radius=radius, direction=direction)
    width = _given(source.width, levels.FALLBACK_WIDTH)
    height = _given(source.height, levels.FALLBACK_HEIGHT)
    return solid_angles.rect_solid_angle(
        to_centre, width=width, height=height, direction=direction, across=_across(source)
    )


def _given(values: Numbers, fallback: float) -> Array:
    """Sizes as an array of shape (n,) or (1,), with the fallback where they are not given."""
    sizes = np.atleast_1d(numbers(values))
    return np.where(np.isnan(sizes), fallback, sizes)


def _directions(source: Source) -> Array:
    if source.direction is None:
        return np.full((1, 3), np.nan)
    return unit(vectors(source.direction))


def _across(source: Source) -> Array:
    """The light's own +X, made square to its direction; level where it is not given."""
    if source.across is None:
        if source.shape == "cylinder" and source.direction is None:
            return np.full((1, 3), np.nan)
        return level_across(_directions(source))
    across = unit(vectors(source.across))
    if source.shape == "cylinder":
        return across
    direction, across = np.broadcast_arrays(_directions(source), across)
    return unit(cross(direction, cross(across, direction)))

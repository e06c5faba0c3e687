"""Small OpenColorIO configs for tests, sound ones and others."""

from __future__ import annotations

from pathlib import Path

ACES_1 = "ocio://cg-config-v2.2.0_aces-v1.3_ocio-v2.4"
ACES_2 = "ocio://cg-config-v4.0.0_aces-v2.0_ocio-v2.5"
GAMMA = "!<ExponentTransform> {value: [2.2, 2.2, 2.2, 1], direction: inverse}"
"""Makes a display of a gamma of 2.2 from linear light."""

_CONFIG = """\
ocio_profile_version: 2
environment: {{}}
search_path: luts
roles: {{default: raw, data: raw{roles}}}
displays:
  Desk:
    - !<View> {{name: Film, colorspace: film}}
    - !<View> {{name: Plain, colorspace: raw}}
  Wall:
    - !<View> {{name: Film, colorspace: film}}
colorspaces:
  - !<ColorSpace> {{name: raw, isdata: true}}
  - !<ColorSpace> {{name: light}}
  - !<ColorSpace>
    name: film
    from_scene_reference: {film}
"""


def config_text(film: str = GAMMA, roles: str = ", scene_linear: light") -> str:
    """A config of two displays, whose views Film are made by a transform and Plain by none."""
    return _CONFIG.format(film=film, roles=roles)


def write_config(path: Path, film: str = GAMMA, roles: str = ", scene_linear: light") -> Path:
    """Write such a config and return the path."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(config_text(film, roles))
    return path

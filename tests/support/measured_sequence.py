"""A small sequence whose frames were rendered from its sheets by the tests' own renderer, and measured."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from rendered_frames import rendered, write_rendered
from samelight.sequence.measuring import frames_in, keep, measure_shot
from samelight.sheets.sheet import read_sheet
from samelight.sheets.writing import yaml_text

Tree = dict[str, Any]

LIGHTS: Tree = {
    "key": {"type": "point", "intensity": 9, "position": [2.5, 3, 2.5], "color": [1, 0.8, 0.6]},
    "rim": {"type": "point", "intensity": 4, "position": [-2, 2.5, -1.5]},
}
SKY: Tree = {"sky": {"intensity": 0.15, "color": [0.7, 0.85, 1]}}
CAMERA: Tree = {
    "position": [0, 1.6, 2.5],
    "direction": [0, 0, -1],
    "focal_length_mm": 50,
    "horizontal_aperture_mm": 36,
}


def tree(x: float = 0.0, **more: Any) -> Tree:
    """A shot's sheet, its face so far to the right; it says that nothing stands in the way of any light."""
    face = {"position": [x, 1.6, 0], "normal": [0, 0, 1], "sees": {"key": 1, "rim": 1, "sky": 1}}
    return {"camera": CAMERA, "marks": {"face": face}, "lights": LIGHTS, "environments": SKY, **more}


def publish(folder: Path, shot: str, sheet: Tree, version: int = 1) -> Path:
    """Write a sheet of a shot."""
    path = folder / f"shots/{shot}/{shot}.v{version:03d}.yaml"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(yaml_text({"samelight": 2, "shot": shot, "version": version, **sheet}))
    return path


def shoot(folder: Path, shot: str, sheet: Tree, *, times: float = 1.0, version: int | None = 1) -> None:
    """Render a shot from a sheet, which need not be the one that it has, and write its frame, so many times as bright; it says which
    version it is of, unless that is None."""
    picture = rendered(sheet, size=(240, 135)) * times
    header = {} if version is None else {"samelight:version": version}
    write_rendered(folder / f"frames/{shot}.exr", picture, header)


def shoot_layers(
    folder: Path,
    shot: str,
    sheet: Tree,
    *,
    times: Mapping[str, float] | None = None,
    lost: float = 0.0,
    version: int = 1,
) -> None:
    """Render a shot with a layer for each light and sky, some of them so many times as bright, and the beauty as their sum; of that
    the layers have lost a share."""
    layers = {}
    for section in ("lights", "environments"):
        for name, light in sheet[section].items():
            alone = {**sheet, "lights": {}, "environments": {}, section: {name: light}}
            layers[name] = rendered(alone, size=(240, 135), behind=0.0) * (times or {}).get(name, 1.0)
    planes = {
        f"{name}.{one}": of[..., at] * (1.0 - lost)
        for name, of in layers.items()
        for at, one in enumerate("RGB")
    }
    beauty = np.sum(list(layers.values()), axis=0)
    write_rendered(folder / f"frames/{shot}.exr", beauty, {"samelight:version": version}, planes)


def measure(folder: Path, *shots: str) -> None:
    """Measure the frames of shots by the newest of their sheets."""
    for shot in shots:
        path = max((folder / "shots" / shot).iterdir())
        sheet = read_sheet(path, shot=shot, version=int(path.stem[-3:]))
        frame = frames_in(folder).get(shot)
        assert frame is not None
        keep(folder, measure_shot(folder, sheet, *frame))


def sequence(folder: Path, shots: Mapping[str, Tree], policy: str = "") -> Path:
    """A sequence of these shots, whose master is the first one's set-up, each rendered from its sheet; nothing is measured."""
    key = next(iter(shots))
    folder.mkdir(parents=True)
    cut = ", ".join(shots)
    (folder / "sequence.yaml").write_text(
        f"samelight_sequence: 2\ntitle: Quay\ncut: [{cut}]\nkey_shot: {key}\n"
    )
    if policy:
        (folder / "policy.yaml").write_text(policy)
    (folder / "master").mkdir()
    setup = {"samelight": 2, **{name: shots[key][name] for name in ("lights", "environments")}}
    (folder / "master/master.v001.yaml").write_text(yaml_text(setup))
    for shot, sheet in shots.items():
        publish(folder, shot, sheet)
        shoot(folder, shot, sheet)
    return folder

"""A small film in files, large enough for its sheets to be kept."""

from __future__ import annotations

import os
from pathlib import Path

from samelight.sequence import store

SHOTS = store.FEWEST + 10
LONG_AGO = 1_600_000_000


def write_film(folder: Path) -> Path:
    """A sequence that is large enough to be kept, last written long ago."""
    names = [f"F_{number:03d}" for number in range(SHOTS)]
    cut = "\n".join(f"  - {name}" for name in names)
    write(folder / "sequence.yaml", f"title: A film\ncut:\n{cut}\n")
    write(folder / "master/master.v001.yaml", sheet_text("", 64))
    for number, name in enumerate(names):
        write(shot_file(folder, number), sheet_text(name, 64 + number % 3))
    return folder


def shot_file(film: Path, number: int) -> Path:
    return film / f"shots/F_{number:03d}/F_{number:03d}.v001.yaml"


def write(path: Path, text: str, when: int = LONG_AGO) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    os.utime(path, (when, when))


def sheet_text(shot: str, samples: int) -> str:
    return (
        "samelight: 2\n"
        + (f"shot: {shot}\n" if shot else "")
        + "version: 1\nmaster: 1\nframes: [1001, 1100]\nnotes: \"as 'lit'\"\nremarks: [one, two]\n"
        + "units: {length: cm}\n"
        + "lights:\n"
        + f"  sun: {{type: distant, azimuth: 131, elevation: 24, intensity: 3.2, samples: {samples}}}\n"
        + "  fill: {type: rect, position: [1, 2.5, -0.0], direction: [0, -1, 0], visible: true, radius: 35,\n"
        + "         intensity: {keys: [[1001, 2.0], [1048, 1]], interpolation: linear}, light_links: [/set/quay]}\n"
        + "environments:\n  sky: {texture: maps/dawn.exr, sha256: 0A, color: [1, 0.9, 0.8], odd: 1}\n"
        + "render: {gi: {'on': true, range: 3.5 m}, quality: 1}\n"
    )

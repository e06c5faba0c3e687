"""CPU time of the levels at the marks, in one process: 2,000 shots x 20 lights x 3 marks by kind of light, then the rows of such a
film as sheets. Run: python tests/benchmarks/bench_marks.py"""

import os
import sys
import time
from collections.abc import Callable
from pathlib import Path

# One core, whatever the linear algebra library would take.
for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(name, "1")
sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "app"))

import numpy as np  # noqa: E402 - after the environment is set

from samelight.light import marks  # noqa: E402
from samelight.light.marks import Source  # noqa: E402
from samelight.light.mesh import mesh_of  # noqa: E402
from samelight.light.profile import profile_of  # noqa: E402
from samelight.light.sky_map import Panorama  # noqa: E402

SHOTS, LIGHTS, MARKS = 2000, 20, 3
SHAPES = ("point", "spot", "distant", "environment", "sphere", "disk", "rect", "cylinder")
Extra = dict[str, object]


def held(one: object) -> np.ndarray:
    every = np.empty(SHOTS, dtype=np.object_)
    every[:] = one
    return every


def a_light(shape: str, generator: np.random.Generator, **more: object) -> Source:
    stated: Extra = {
        "level": generator.uniform(0.5, 5, SHOTS),
        "position": generator.uniform(-1, 1, (SHOTS, 3)) + np.array((0, 4, 0)),
        "direction": generator.normal(size=(SHOTS, 3)) * 0.3 + np.array((0, -1, 0)),
        "across": generator.normal(size=(SHOTS, 3)),
        "radius": generator.uniform(0.1, 0.5, SHOTS),
        "width": generator.uniform(0.2, 2, SHOTS),
        "height": generator.uniform(0.2, 2, SHOTS),
        "length": generator.uniform(0.2, 3, SHOTS),
        "cone": 40.0 if shape == "spot" else float("nan"),
        "softness": 0.2,
    }
    return Source(shape, **{**stated, **more})  # type: ignore[arg-type]


def seconds(lights: list[Source], places: list[np.ndarray], normal: np.ndarray) -> float:
    """Of a processor, the better of two runs."""
    best = float("inf")
    for _ in range(2):
        start = time.process_time()
        for place in places:
            levels = np.stack([marks.illuminance(light, place, normal) for light in lights], axis=1)
            marks.key_and_fill(levels)
        best = min(best, time.process_time() - start)
    return best


def costly(generator: np.random.Generator) -> dict[str, Callable[[], Source]]:
    """Lights that take more than a closed form."""
    picture = Panorama("bench", generator.uniform(0, 2, (32, 64, 3)))
    profile = profile_of("0 20 40 60 90; 0; 100 80 40 10 0")
    triangles = 12
    corners = " ".join(f"{number:.4f}" for number in generator.uniform(-0.5, 0.5, 9 * triangles))
    mesh = mesh_of(f"{corners}; {' '.join(map(str, range(3 * triangles)))}")
    return {
        "rect, hard cone": lambda: a_light("rect", generator, cone=25.0, softness=0.0),
        "rect, soft cone": lambda: a_light("rect", generator, cone=25.0, softness=0.5),
        "rect, focus": lambda: a_light("rect", generator, focus=4.0),
        "rect, profile": lambda: a_light("rect", generator, profiles=held(profile)),
        "rect, picture": lambda: a_light("rect", generator, maps=held(picture), tint=np.ones((SHOTS, 3))),
        "sky, map": lambda: a_light(
            "environment",
            generator,
            maps=held(picture),
            tint=np.ones((SHOTS, 3)),
            turn=generator.uniform(0, 360, (SHOTS, 3)) * np.array([1, 0, 0]),
        ),
        "mesh, 12 faces": lambda: a_light("mesh", generator, meshes=held(mesh)),
    }


def main() -> None:
    generator = np.random.default_rng(1)
    places = [generator.normal(size=(SHOTS, 3)) for _ in range(MARKS)]
    normal = generator.normal(size=(SHOTS, 3))
    print(f"{SHOTS} shots x {LIGHTS} lights x {MARKS} marks")
    print(f"{'lights':<18}{'CPU s':>9}{'us a level':>12}")
    mixed = [SHAPES[index % len(SHAPES)] for index in range(LIGHTS)]
    for title, shapes in (("mixed", mixed), *((shape, [shape] * LIGHTS) for shape in SHAPES)):
        took = seconds([a_light(shape, generator) for shape in shapes], places, normal)
        print(f"{title:<18}{took:>9.3f}{took / (SHOTS * LIGHTS * MARKS) * 1e6:>12.2f}")
    print(f"\n{SHOTS} shots x 1 light x {MARKS} marks")
    for title, make in costly(generator).items():
        took = seconds([make()], places, normal)
        print(f"{title:<18}{took:>9.3f}{took / (SHOTS * MARKS) * 1e6:>12.2f}")


if __name__ == "__main__":
    main()

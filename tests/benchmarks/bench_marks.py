"""Time of the levels at the marks: 2,000 shots x 20 lights x 3 marks on one core. Run: python
tests/benchmarks/bench_marks.py"""

import os
import sys
import time
from pathlib import Path

# One core, whatever the linear algebra library would take.
for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(name, "1")
sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "app"))

import numpy as np  # noqa: E402 - after the environment is set

from samelight.light import marks  # noqa: E402
from samelight.light.marks import Source  # noqa: E402

SHOTS, LIGHTS, MARKS = 2000, 20, 3
SHAPES = ("point", "spot", "distant", "environment", "sphere", "disk", "rect", "cylinder")


def a_light(shape: str, generator: np.random.Generator) -> Source:
    return Source(
        shape,
        level=generator.uniform(0.5, 5, SHOTS),
        position=generator.uniform(-1, 1, (SHOTS, 3)) + np.array((0, 4, 0)),
        direction=generator.normal(size=(SHOTS, 3)) * 0.3 + np.array((0, -1, 0)),
        across=generator.normal(size=(SHOTS, 3)),
        radius=generator.uniform(0.1, 0.5, SHOTS),
        width=generator.uniform(0.2, 2, SHOTS),
        height=generator.uniform(0.2, 2, SHOTS),
        length=generator.uniform(0.2, 3, SHOTS),
        cone=40.0 if shape == "spot" else float("nan"),
        softness=0.2,
    )


def seconds(lights: list[Source], places: list[np.ndarray], normal: np.ndarray) -> float:
    """The best of three runs."""
    best = float("inf")
    for _ in range(3):
        start = time.perf_counter()
        for place in places:
            levels = np.stack([marks.illuminance(light, place, normal) for light in lights], axis=1)
            marks.key_and_fill(levels)
        best = min(best, time.perf_counter() - start)
    return best


def main() -> None:
    generator = np.random.default_rng(1)
    places = [generator.normal(size=(SHOTS, 3)) for _ in range(MARKS)]
    normal = generator.normal(size=(SHOTS, 3))
    print(f"{SHOTS} shots x {LIGHTS} lights x {MARKS} marks")
    print(f"{'lights':<14}{'seconds':>9}{'us a level':>12}")
    mixed = [SHAPES[index % len(SHAPES)] for index in range(LIGHTS)]
    for title, shapes in (("mixed", mixed), *((shape, [shape] * LIGHTS) for shape in SHAPES)):
        took = seconds([a_light(shape, generator) for shape in shapes], places, normal)
        print(f"{title:<14}{took:>9.3f}{took / (SHOTS * LIGHTS * MARKS) * 1e6:>12.2f}")


if __name__ == "__main__":
    main()

"""The package of the sun's position is slow to load."""

from __future__ import annotations

import subprocess
import sys

import samelight.light


def test_the_sun_package_is_read_only_when_the_sun_is_asked_for() -> None:
    says = "import sys, samelight.light.sun; print('sunposition' in sys.modules)"
    path = next(iter(samelight.light.__path__)).removesuffix("samelight/light")
    run = subprocess.run(
        [sys.executable, "-c", f"import sys; sys.path.insert(0, {path!r}); {says}"],
        capture_output=True,
        text=True,
        check=True,
    )
    assert run.stdout.strip() == "False"

"""Makes a folder that runs on a machine without Python: `python resources/package/build_folder.py`.

Needs PyInstaller (`pip install pyinstaller`) beside Samelight itself. The folder is `dist/samelight`; the program in it is
`samelight`. It runs on the system that it was made on and on newer ones of its kind.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
WITH_DATA = ("pxr", "opentimelineio")
"""Packages that read files of their own when they run."""

CARRIED = {
    "resources": "samelight/resources",
    "sample_sequences": "samelight/sample_sequences",
    "app/samelight/reports/templates": "samelight/reports/templates",
}
"""Folders of the project, and where they stand in the package."""

LEFT_OUT = ("tkinter", "pytest", "hypothesis", "mypy", "scipy", "matplotlib", "IPython")


def words() -> list[str]:
    """What PyInstaller is asked for."""
    asked = [
        "--noconfirm",
        "--clean",
        "--onedir",
        "--name=samelight",
        f"--paths={ROOT / 'app'}",
        f"--distpath={ROOT / 'dist'}",
        f"--workpath={ROOT / 'build' / 'folder'}",
        f"--specpath={ROOT / 'build' / 'folder'}",
        "--collect-submodules=samelight",
    ]
    asked += [f"--collect-data={name}" for name in WITH_DATA]
    asked += ["--collect-binaries=pxr", "--collect-submodules=pxr", "--collect-submodules=opentimelineio"]
    asked += [f"--add-data={ROOT / name}{os.pathsep}{place}" for name, place in CARRIED.items()]
    asked.append(f"--runtime-hook={HERE / 'usd_in_a_folder.py'}")
    asked += [f"--exclude-module={name}" for name in LEFT_OUT]
    return [*asked, str(ROOT / "app" / "samelight" / "__main__.py")]


def main() -> int:
    """Build the folder and try it on the sample; the exit status."""
    try:
        import PyInstaller.__main__
    except ImportError:
        print("PyInstaller is not installed: pip install pyinstaller", file=sys.stderr)
        return 2
    PyInstaller.__main__.run(words())
    program = ROOT / "dist" / "samelight" / ("samelight.exe" if os.name == "nt" else "samelight")
    for words_ in trials():
        done = subprocess.run([str(program), *words_], check=False, stdout=subprocess.DEVNULL)
        if done.returncode not in (0, 1):
            said = " ".join(words_)
            print(f"{program} was built, but `samelight {said}` ends with {done.returncode}", file=sys.stderr)
            return 1
    print(program)
    return 0


def trials() -> list[list[str]]:
    """What the built program must be able to do: each needs other files of the package."""
    sample = str(ROOT / "sample_sequences" / "harbour")
    scene = str(ROOT / "tests" / "data" / "usd" / "domeLightYup.usda")
    return [["check", sample, "--quiet"], ["report", sample, "--format", "html"], ["capture", scene]]


if __name__ == "__main__":
    sys.exit(main())

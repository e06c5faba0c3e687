"""Makes a folder that runs on a machine without Python: `python resources/package/build_folder.py`.

Needs PyInstaller (`pip install pyinstaller`) beside Samelight itself. The folder is `dist/samelight`; the program in it is
`samelight`. It runs on the system that it was made on and on newer ones of its kind.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
WITH_DATA = ("samelight", "pxr", "opentimelineio", "opentimelineio_contrib")
"""Packages that read files of their own when they run."""

CARRIED = ("resources", "sample_sequences")
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
    asked += [f"--add-data={ROOT / name}{os.pathsep}samelight/{name}" for name in CARRIED]
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
    sample = ROOT / "sample_sequences" / "harbour"
    done = subprocess.run([str(program), "check", str(sample), "--quiet"], check=False)
    if done.returncode not in (0, 1):
        print(f"{program} was built but does not run: exit status {done.returncode}", file=sys.stderr)
        return 1
    print(program)
    return 0


if __name__ == "__main__":
    sys.exit(main())

"""The tests outside the window once more, without Qt: with the lowest allowed versions, and with another CPython.

Run by hand: `python tests/elsewhere.py`. At its end stands what was run. What cannot be got is said and fails
nothing. `--browser` installs Chromium first where a Debian package of it can be had, so that the page of the reports is
tried in it. Needs nothing but CPython 3.11 or newer.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]

TOOLS = ("distributed", "hypothesis", "jsonschema", "markdown-it-py", "pytest", "pytest-xdist", "scipy")
"""What the tests outside the window need beside the program, in any version."""

MINORS = (14, 13, 12, 11)
"""Of CPython 3, the newest first."""

NOT_QT = (
    "-p",
    "no:pytest-qt",
    "-p",
    "without_qt",
    "-W",
    "ignore:Unknown config option:pytest.PytestConfigWarning",
)
IN_PARALLEL = ("-q", "-n", "auto", "--maxprocesses", "8", "--dist", "loadfile")


def done(*words: str | Path, **environment: str) -> bool:
    """Whether a program did its work; what it says goes to the terminal."""
    told = " ".join(map(str, words))
    print(f"+ {told}", flush=True)
    try:
        return subprocess.call(list(map(str, words)), cwd=ROOT, env={**os.environ, **environment}) == 0
    except OSError as error:
        print(error, flush=True)
        return False


def debian(*packages: str) -> bool:
    """Whether these packages could be installed here."""
    is_root = hasattr(os, "geteuid") and os.geteuid() == 0
    if not is_root or shutil.which("apt-get") is None:
        return False
    quiet = {"DEBIAN_FRONTEND": "noninteractive"}
    return done("apt-get", "update", "-q", **quiet) and done(
        "apt-get", "install", "-y", "-q", "--no-install-recommends", *packages, **quiet
    )


def browser() -> None:
    """Have Chromium, where that can be."""
    if shutil.which("chromium") is None and not debian("chromium"):
        print("No Chromium: the page of the reports is not tried in a browser.", flush=True)


def environment(python: str, folder: Path, *, lowest: bool) -> Path | None:
    """An environment with the program's dependencies, all or the lowest allowed; its Python, None where it cannot be had."""
    own = folder / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
    if not done(python, "-m", "venv", folder) or not done(own, "-m", "pip", "install", "-q", "uv"):
        return None
    uv = (own, "-m", "uv", "pip")
    limits = folder / "lowest.txt"
    limits.touch()
    if lowest and not done(
        *uv, "compile", "-q", "--resolution", "lowest-direct", "pyproject.toml", "-o", limits
    ):
        return None
    wanted = ("-c", limits, "-r", "pyproject.toml", *TOOLS)
    return own if done(*uv, "install", "-q", "--python", own, *wanted) else None


def other_python() -> str | None:
    """A CPython of another version than this one's, if need be as a Debian package."""
    names = [f"python3.{minor}" for minor in MINORS if minor != sys.version_info.minor]
    there = next((found for name in names if (found := shutil.which(name))), None)
    if there is not None:
        return there
    return next((shutil.which(name) for name in names if debian(name, f"{name}-venv")), None)


def tried(python: str | None, called: str, folder: Path, *, lowest: bool = False) -> tuple[str, bool]:
    """What became of the tests in an environment of their own, in words, and whether nothing failed."""
    own = environment(python, folder, lowest=lowest) if python is not None else None
    if own is None:
        return f"not run: {called}, which cannot be had here", True
    path = os.pathsep.join(map(str, (ROOT / "app", ROOT / "tests" / "support")))
    passed = done(own, "-m", "pytest", *NOT_QT, *IN_PARALLEL, PYTHONPATH=path)
    return f"{'passed' if passed else 'FAILED'}: {called}", passed


def main(words: list[str]) -> int:
    """Run it; 1 where a test failed."""
    if words == ["--browser"]:
        browser()
        return 0
    with tempfile.TemporaryDirectory(prefix="samelight-elsewhere-") as scratch:
        other = other_python()
        found = [
            tried(sys.executable, "the lowest allowed versions", Path(scratch, "lowest"), lowest=True),
            tried(other, f"another CPython ({other or 'none'})", Path(scratch, "other")),
        ]
    print(
        "\nThe tests outside the window, without Qt:",
        *(f"  {says}" for says, _ in found),
        sep="\n",
        flush=True,
    )
    return 0 if all(passed for _, passed in found) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

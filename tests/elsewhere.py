"""Tests once more in other surroundings: the reports' page in a browser, and without Qt the readers of scenes and cuts with
the lowest allowed versions, and all tests outside the window with another CPython.

`python tests/elsewhere.py`, after `app/start.py` made the project's own environment. At its end stands what was run. What
cannot be got here, or is not done in `ALL_IN` seconds, is said and fails nothing; a test that fails does. `--browser`,
`--lowest` and `--python` run that part alone. Needs nothing but CPython 3.11 or newer.
"""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]

ALL_IN = 1200
"""Seconds for all of it: whoever waits for it has run the whole test command before."""

TOOLS = ("distributed", "hypothesis", "jsonschema", "markdown-it-py", "pytest", "pytest-xdist", "scipy")
"""What the tests outside the window need beside the program, in any version."""

MINORS = (14, 13, 12, 11)
"""Of CPython 3, the newest first."""

NOT_QT = ("-p", "no:pytest-qt", "-p", "without_qt")
IN_PARALLEL = ("-n", "auto", "--maxprocesses", "8", "--dist", "loadfile", "--no-loadscope-reorder")
ANY_WARNINGS = ("-W", "default")
"""Versions that nobody chose warn of what is none of ours."""

OF_DEPENDENCIES = (
    "tests/published/test_usdlux.py",
    "tests/sources/test_attribute_table.py",
    "tests/sources/test_cuts.py",
    "tests/sources/test_usd_attributes.py",
    "tests/sources/test_usd_colours.py",
    "tests/sources/test_usd_domes.py",
    "tests/sources/test_usd_emission.py",
    "tests/sources/test_usd_fallbacks.py",
    "tests/sources/test_usd_space.py",
    "tests/sources/test_usd_time.py",
)
"""What most depends on the versions of what is installed: the readers of scenes and cuts, from text to a sheet."""

FAILED = 1
"""What pytest ends with where a test failed."""

_end = time.monotonic() + ALL_IN


def run(*words: str | Path, **environment: str) -> int | None:
    """What a program ended with, of which all that it says goes to the terminal; None where it did not start, or had no time
    left to end."""
    told = " ".join(map(str, words))
    print(f"+ {told}", flush=True)
    started = None
    try:
        surroundings = {**os.environ, **environment}
        started = subprocess.Popen(list(map(str, words)), cwd=ROOT, env=surroundings, start_new_session=True)
        return started.wait(max(_end - time.monotonic(), 0.0))
    except OSError as error:
        print(error, flush=True)
    except subprocess.TimeoutExpired:
        print(f"stopped: all of this may take {ALL_IN} s", flush=True)
    finally:
        if started is not None and started.poll() is None:
            stop(started)
    return None


def stop(started: subprocess.Popen[bytes]) -> None:
    """End a program with all that it started."""
    if hasattr(os, "killpg"):
        os.killpg(started.pid, signal.SIGKILL)
    else:
        started.kill()
    started.wait()


def debian(*packages: str) -> bool:
    """Whether these packages could be installed here."""
    is_root = hasattr(os, "geteuid") and os.geteuid() == 0
    if not is_root or shutil.which("apt-get") is None:
        return False
    quiet = {"DEBIAN_FRONTEND": "noninteractive"}
    run("apt-get", "update", "-q", **quiet)
    return run("apt-get", "install", "-y", "-q", "--no-install-recommends", *packages, **quiet) == 0


def environment(python: str, folder: Path, *, lowest: bool) -> Path | None:
    """An environment with the program's dependencies, all or the lowest allowed; its Python, None where it cannot be had."""
    own = folder / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
    if run(python, "-m", "venv", folder) != 0 or run(own, "-m", "pip", "install", "-q", "uv") != 0:
        return None
    uv = (own, "-m", "uv", "pip")
    limits = folder / "lowest.txt"
    limits.touch()
    lowering = ("compile", "-q", "--resolution", "lowest-direct", "pyproject.toml", "-o", limits)
    if lowest and run(*uv, *lowering) != 0:
        return None
    wanted = ("-c", limits, "-r", "pyproject.toml", *TOOLS)
    return own if run(*uv, "install", "-q", "--python", own, *wanted) == 0 else None


def other_python() -> str | None:
    """A CPython of another version than this one's, if need be as a Debian package."""
    minors = [minor for minor in MINORS if minor != sys.version_info.minor]
    there = next((found for minor in minors if (found := found_python(minor))), None)
    if there is not None or not debian("python3", "python3-venv"):
        return there
    return next((found for minor in minors if (found := found_python(minor))), None)


def found_python(minor: int) -> str | None:
    """A CPython of this version that works: a name alone may stand for one that is not there."""
    found = shutil.which(f"python3.{minor}")
    return found if found is not None and run(found, "-c", "import ensurepip, venv") == 0 else None


def tested(python: str | Path, *words: str, **environment: str) -> int | None:
    """What pytest ended with. What failed is run once more by itself: these surroundings are not ours, and may stumble once."""
    ended = run(python, "-m", "pytest", "-q", *words, **environment)
    if ended == FAILED:
        ended = run(python, "-m", "pytest", "-q", *words, "-n", "0", "--last-failed", **environment)
    return ended


def in_a_browser(scratch: Path) -> int | None:
    """Try the page of the reports in Chromium, which is installed where a Debian package of it can be had."""
    own = ROOT / (".venv/Scripts/python.exe" if os.name == "nt" else ".venv/bin/python")
    if shutil.which("chromium") is None and not debian("chromium"):
        return None
    headless = ("--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage")
    if run("chromium", *headless, f"--user-data-dir={scratch / 'try'}", "--dump-dom", "about:blank") != 0:
        return None
    return tested(own, "-n", "0", "tests/reports/test_html_report.py", "-k", "browser")


def without_qt(python: str | None, folder: Path, *tests: str, lowest: bool = False) -> int | None:
    """Run these tests, or all outside the window, without Qt in an environment of their own."""
    own = environment(python, folder, lowest=lowest) if python is not None else None
    if own is None:
        return None
    path = os.pathsep.join(map(str, (ROOT / "app", ROOT / "tests" / "support")))
    return tested(own, *NOT_QT, *ANY_WARNINGS, *IN_PARALLEL, *tests, PYTHONPATH=path)


def with_lowest(scratch: Path) -> int | None:
    """Of each dependency the lowest version that the project allows."""
    return without_qt(sys.executable, scratch / "lowest", *OF_DEPENDENCIES, lowest=True)


def with_other_python(scratch: Path) -> int | None:
    """Another CPython than the one that runs this."""
    return without_qt(other_python(), scratch / "other")


PARTS: dict[str, tuple[str, Callable[[Path], int | None]]] = {
    "--browser": ("the page of the reports in Chromium", in_a_browser),
    "--lowest": ("readers of scenes and cuts without Qt, the lowest allowed versions", with_lowest),
    "--python": ("without Qt, another CPython", with_other_python),
}


def main(words: list[str]) -> int:
    """Run it; 1 where a test failed."""
    told, failed = [], False
    with tempfile.TemporaryDirectory(prefix="samelight-elsewhere-", ignore_cleanup_errors=True) as scratch:
        for word, (called, part) in PARTS.items():
            if words and word not in words:
                continue
            ended = part(Path(scratch))
            failed = failed or ended == FAILED
            said = (
                "passed"
                if ended == 0
                else "FAILED"
                if ended == FAILED
                else "not run, or not to its end, here"
            )
            told.append(f"  {called}: {said}")
    print("\nTests in other surroundings:", *told, sep="\n", flush=True)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

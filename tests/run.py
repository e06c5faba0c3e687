"""The whole test command: lint, format, types, import rules, then every test. Run by the environment's own Python."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryFile
from typing import IO

ROOT = Path(__file__).resolve().parents[1]

IN_PARALLEL = ("-n", "auto", "--maxprocesses", "8", "--dist", "loadfile", "--no-loadscope-reorder")
"""Tests run in as many processes as there are processors; those of one file stay together, and files are begun in the order
that `conftest.py` puts them in. `-n 0` behind them undoes it."""


TYPES = "mypy"


def whole_test_command(python: str, pytest_arguments: list[str]) -> list[tuple[str, list[str]]]:
    """Each step's name and program. pytest stands last, so that its summary closes the run."""
    import_rules = "from importlinter.cli import lint_imports_command; lint_imports_command()"
    return [
        # Without its cache: that does not see that a new folder changes which imports are the project's own.
        ("ruff check", [python, "-m", "ruff", "check", "--no-cache", "."]),
        ("ruff format --check", [python, "-m", "ruff", "format", "--check", "."]),
        ("lint-imports", [python, "-c", import_rules, "--no-logo"]),
        ("pytest", [python, "-m", "pytest", *IN_PARALLEL, *pytest_arguments]),
    ]


def types(python: str) -> list[str]:
    """The check of types, which takes one processor for longest: all other steps are done beside it."""
    return [python, "-m", "mypy"]


def compiling(python: str, pytest_arguments: list[str]) -> list[str]:
    """Compile the tests, which is done beside the first steps and once, not by each of pytest's processes."""
    return [python, "-m", "pytest", "-qq", "--collect-only", *pytest_arguments, "-n", "0"]


def surroundings() -> dict[str, str]:
    """The environment of all steps. What is compiled is kept: hundreds of programs that the tests start import the same."""
    return {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}


def run_tests(pytest_arguments: list[str]) -> int:
    """Run every step, also after one that failed; 0 when all passed."""
    environment, failed = surroundings(), []

    def run(name: str, command: list[str]) -> None:
        print(f"\n--- {name}", flush=True)
        if subprocess.call(command, cwd=ROOT, env=environment) != 0:
            failed.append(name)

    def beside(command: list[str], out: IO[bytes] | int) -> subprocess.Popen[bytes]:
        return subprocess.Popen(
            command, cwd=ROOT, env=environment, stdin=subprocess.DEVNULL, stdout=out, stderr=out
        )

    *rules, tests = whole_test_command(sys.executable, pytest_arguments)
    ahead = compiling(sys.executable, pytest_arguments)
    print(f"{TYPES} runs beside all other steps.", flush=True)
    with TemporaryFile() as said, beside(types(sys.executable), said) as checked:
        with beside(ahead, subprocess.DEVNULL):  # pytest itself says what cannot be collected
            for rule in rules:
                run(*rule)
        run(*tests)
        if checked.wait() != 0:
            failed.append(TYPES)
            said.seek(0)
            print(f"\n--- {TYPES}\n{said.read().decode(errors='replace')}", flush=True)
    if failed:
        print(f"\nFailed: {', '.join(failed)}", flush=True)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(run_tests(sys.argv[1:]))

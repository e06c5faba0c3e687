"""What the tests of documents share: a report of a sequence, and a browser where there is one."""

from __future__ import annotations

import shutil
import subprocess
from datetime import datetime
from pathlib import Path

from samelight.reports.report import Report, make_report
from samelight.sequence.session import open_session

MADE = datetime(2026, 9, 14, 8, 15)


def report_of(folder: Path, **options: frozenset[str]) -> Report:
    return make_report(open_session(folder), made=MADE, **options)


def browser() -> str | None:
    """A Chromium on this machine, or None."""
    names = ("chromium", "chromium-browser", "google-chrome", "chrome")
    return next((found for name in names if (found := shutil.which(name))), None)


def browse(program: str, page: Path, profile: Path, *arguments: str) -> str:
    """Open a page in a browser that nobody sees; what it prints."""
    words = [
        program,
        "--headless",
        "--no-sandbox",
        "--disable-gpu",
        "--disable-dev-shm-usage",  # a container has little of that
        "--no-first-run",
        "--disable-background-networking",
        "--disable-component-update",
        "--disable-sync",
        f"--user-data-dir={profile}",
        "--hide-scrollbars",
        *arguments,
        page.as_uri(),
    ]
    done = subprocess.run(words, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr[-2000:]
    return done.stdout

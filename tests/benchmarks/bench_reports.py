"""Time and size of reports: the harbour, and a film of 2,000 shots x 565 rows, beside building its drift table. Run:
python tests/benchmarks/bench_reports.py"""

import sys
import tempfile
import time
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from types import SimpleNamespace
from typing import Any

sys.path[:0] = [str(Path(__file__).resolve().parents[2] / "app"), str(Path(__file__).resolve().parents[1])]

from benchmarks import film  # noqa: E402 - after the paths are set
from samelight.changes.fix_list import fix_list  # noqa: E402
from samelight.decisions.ledger import open_ledger  # noqa: E402
from samelight.decisions.state import UNDECIDED  # noqa: E402
from samelight.drift.policy import default_policy  # noqa: E402
from samelight.drift.table import build_table  # noqa: E402
from samelight.findings.finding import Evidence  # noqa: E402
from samelight.findings.registry import find_all  # noqa: E402
from samelight.reports.as_csv import report_csv  # noqa: E402
from samelight.reports.as_html import html_text  # noqa: E402
from samelight.reports.as_junit import junit_text  # noqa: E402
from samelight.reports.as_markdown import report_markdown  # noqa: E402
from samelight.reports.fix_text import fixes_text  # noqa: E402
from samelight.reports.report import make_report  # noqa: E402
from samelight.sequence.session import open_session  # noqa: E402
from samelight.sheets.resources import sample_sequence  # noqa: E402
from samelight.sheets.sequence import SequenceFile  # noqa: E402

SHOTS = 2000
MADE = datetime(2026, 9, 14, 8, 15)


def timed(run: Callable[[], Any]) -> tuple[float, Any]:
    """Seconds of the processor, since other work may share it, and the result."""
    start = time.process_time()
    result = run()
    return time.process_time() - start, result


def opened_film(folder: Path) -> tuple[float, Any]:
    """A film as an opened sequence, and the seconds that its table took."""
    master, sheets = film.film(SHOTS)
    policy = default_policy()
    seconds, table = timed(lambda: build_table(list(sheets), sheets, master, policy))
    findings = find_all(Evidence(table, sheets, master, {1: master}, policy, {})).findings
    return seconds, SimpleNamespace(
        sequence=SequenceFile(folder, "Film"),
        policy=policy,
        shots=tuple(sheets),
        sheets=sheets,
        master=master,
        master_version=1,
        table=table,
        findings=findings,
        troubles=(),
        ledger=open_ledger(folder),
        judgement=lambda row, column: UNDECIDED,
        decided_cells=dict,
        unreadable=dict,
    )


def measure(name: str, opened: Any, table: float) -> None:
    """Print a line for each kind of report."""
    seconds, report = timed(lambda: make_report(opened, made=MADE))
    cells = sum(len(shot.lines) for shot in report.shots)
    print(
        f"{name}: {len(report.shots)} shots, {len(opened.table.rows)} rows, {cells} cells that are not the master's"
    )
    print(f"  {'gathered':<12}{seconds:>8.2f} s{'':>12}{seconds / table:>8.1f} x the table")
    for form, write in (
        ("HTML", html_text),
        ("CSV", report_csv),
        ("Markdown", report_markdown),
        ("JUnit", junit_text),
    ):
        seconds, text = timed(lambda: write(report))  # noqa: B023 - called at once
        size = len(text.encode()) / 1e6
        print(f"  {form:<12}{seconds:>8.2f} s{size:>9.2f} MB{seconds / table:>8.1f} x the table")
    seconds, text = timed(lambda: fixes_text(fix_list(opened)))
    print(
        f"  {'fix list':<12}{seconds:>8.2f} s{len(text.encode()) / 1e6:>9.2f} MB{seconds / table:>8.1f} x the table"
    )


def main() -> None:
    harbour = open_session(sample_sequence("harbour"))
    table, _ = timed(
        lambda: build_table(
            harbour.contents.shots, harbour.contents.sheets, harbour.contents.master, harbour.contents.policy
        )
    )
    measure("harbour", harbour, table)
    with tempfile.TemporaryDirectory() as folder:
        table, opened = opened_film(Path(folder))
        measure("film", opened, table)


if __name__ == "__main__":
    main()

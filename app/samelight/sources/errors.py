"""What is said when another program's file cannot be captured."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from samelight.sheets.errors import Fault, SamelightError


class CaptureError(SamelightError):
    """A file that could not be captured: which one, what was expected of it and what was found."""

    def __init__(
        self,
        file: str | Path,
        expected: str,
        found: str,
        *,
        path: str = "",
        line: int | None = None,
        column: int | None = None,
        nearest: str | None = None,
    ) -> None:
        self.fault = Fault(str(file), path, expected, found, line, column, nearest)
        super().__init__(str(self.fault))

    def __reduce__(self) -> tuple[Callable[[Fault], CaptureError], tuple[Fault]]:
        """So that it can be told by one process to another."""
        return error_of, (self.fault,)


def error_of(fault: Fault) -> CaptureError:
    """The error that tells this fault."""
    return CaptureError(
        fault.file,
        fault.expected,
        fault.found,
        path=fault.path,
        line=fault.line,
        column=fault.column,
        nearest=fault.nearest,
    )

"""What the traces under the grid plot; it is made in `samelight.drift.traces`, which reports plot as well."""

from __future__ import annotations

from samelight.drift.traces import Trace, traces_of

__all__ = ["Trace", "traces_of"]

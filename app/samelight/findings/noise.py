"""Samples and rays: what fewer of them do to the picture."""

from __future__ import annotations

from samelight.drift.table import Row
from samelight.drift.words import number_text
from samelight.light.rays import noise_ratio
from samelight.sheets.values import Value
from samelight.sheets.vocabulary import COUNT


def buys_noise(row: Row) -> bool:
    """Whether a parameter counts samples or rays; bounces and depths are counts too, and none of these."""
    last = row.leaf.rpartition(".")[2]
    return row.kind == COUNT and (
        last.endswith(("samples", "rays")) or last.startswith("samples_per_") or "_samples_" in last
    )


def noise_of(row: Row, master: Value | None, value: Value | None) -> float | None:
    """How many times noisier the value renders than the master's; None where that has no meaning."""
    if buys_noise(row) and isinstance(master, float) and isinstance(value, float) and master > 0 <= value:
        return noise_ratio(value, master)
    return None


def noise_text(row: Row, master: Value | None, value: Value | None) -> str:
    """The noise as the end of a sentence; empty where there is none, or where it is less."""
    ratio = noise_of(row, master, value)
    return f", noise ×{number_text(ratio, 3)}" if ratio is not None and ratio > 1.0 else ""

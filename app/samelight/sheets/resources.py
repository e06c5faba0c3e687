"""Where the files that the program carries are: in the installed package, or in the checkout."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parents[1]


def _carried(name: str) -> Path:
    installed = _PACKAGE / name
    return installed if installed.is_dir() else _PACKAGE.parents[1] / name


def resource(*parts: str) -> Path:
    """The path of a file under resources/."""
    return _carried("resources").joinpath(*parts)


def sample_sequence(name: str = "harbour") -> Path:
    """The folder of a sequence that the program brings along."""
    return _carried("sample_sequences") / name

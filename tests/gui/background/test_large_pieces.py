"""What a film needs for a moment is not kept by the process: the sizes of its memory are those of what is held."""

from __future__ import annotations

import os
import platform
from pathlib import Path

import pytest

from samelight.gui.background.large_pieces import LARGE, let_large_pieces_go


def _resident() -> int:
    return int(Path("/proc/self/statm").read_text("ascii").split()[1]) * os.sysconf("SC_PAGESIZE")


def _kept_of_half() -> float:
    """How much of every other of some large pieces the process keeps once nobody holds them."""
    before = bytearray(b"x" * 31 * 2**20)  # after which glibc by itself keeps all up to this size
    before.clear()
    pieces = [bytes([number]) * (LARGE + 2**20) for number in range(8)]
    held, half = _resident(), sum(map(len, pieces[::2]))
    del pieces[::2]
    return 1.0 - (held - _resident()) / half


@pytest.mark.skipif(
    platform.libc_ver()[0] != "glibc", reason="another C library keeps by other rules, or nothing"
)
def test_large_pieces_that_nobody_holds_go_back_at_once() -> None:
    assert let_large_pieces_go()
    assert _kept_of_half() < 0.5


def test_a_system_without_such_a_setting_is_left_as_it_is(monkeypatch: pytest.MonkeyPatch) -> None:
    def none(name: None) -> object:
        raise TypeError(name)

    monkeypatch.setattr("ctypes.CDLL", none)
    assert let_large_pieces_go.__wrapped__() is False

"""The hashing of ID mattes against published values.

MurmurHash3_x86_32 with a seed of 0: test vectors that its implementations share (from memory). Names as floats: the examples of the
Cryptomatte specification 1.2.0, Psyop, which are given to 12 digits (from memory).
"""

from __future__ import annotations

import struct

import pytest

from samelight.sources.pictures.mattes import as_float_bits, murmur3, number_of


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("", 0),
        ("test", 0xBA6BD213),
        ("Hello, world!", 0xC0363E43),
        ("The quick brown fox jumps over the lazy dog", 0x2E4FF723),
    ],
)
def test_murmur(text: str, number: int) -> None:
    assert murmur3(text.encode()) == number


@pytest.mark.parametrize(
    ("name", "stands_for"),
    [
        ("hello", 6.0705627102400005616e-17),
        ("cube", -4.08461912519e15),
        ("sphere", 2.79018604383e15),
        ("plane", 3.66557617593e-11),
    ],
)
def test_names_as_floats(name: str, stands_for: float) -> None:
    (number,) = struct.unpack("<f", struct.pack("<I", number_of(name)))
    assert number == pytest.approx(stands_for, rel=1e-11)


def test_no_name_is_a_denormal_an_infinity_or_no_number() -> None:
    """The specification's rule: an exponent of zeros or ones has its lowest bit flipped."""
    assert as_float_bits(0x007FFFFF) == 0x00FFFFFF and as_float_bits(0x7F800001) == 0x7F000001
    assert as_float_bits(0xFF800000) == 0xFF000000 and as_float_bits(0x3F800000) == 0x3F800000

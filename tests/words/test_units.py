"""Lengths and sizes as people write them."""

from __future__ import annotations

import contextlib
import pickle

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shadowrout.words.lengths import written_mm, written_size
from shadowrout.words.units import length_mm, size_mm


# 1 in = 25.4 mm exactly: NIST SP 811, appendix B.
@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("1in", 25.4),
        ('1"', 25.4),
        ("1 inch", 25.4),
        ("2 inches", 50.8),
        ("1''", 25.4),
        ("8 1/2in", 215.9),
        ("8-1/2 in.", 215.9),
        ("8½”", 215.9),
        ("3/8″", 9.525),
        ("1/64in", 0.396875),
        ("200", 200),
        ("200mm", 200),
        ("20 cm", 200),
        ("0.2m", 200),
        ("2,5mm", 2.5),
        (".5mm", 0.5),
        ("5.mm", 5),
        ("-3mm", -3),
        (" 200 MM ", 200),
        ("3 millimetres", 3),
    ],
)
def test_lengths(text, mm):
    assert length_mm(text) == pytest.approx(mm, abs=1e-9)


@pytest.mark.parametrize("text", ["", "mm", "x", "5 miles", "1/0in", "1 2 3", "--5", "1e5", "nan", "inf mm", "5'"])
def test_not_lengths(text):
    with pytest.raises(ValueError):
        length_mm(text)


@pytest.mark.parametrize(
    ("text", "size"),
    [
        ("200x250mm", (200, 250)),
        ("8x10in", (203.2, 254)),
        ('8 1/2 x 11"', (215.9, 279.4)),
        ('8 1/2"x11"', (215.9, 279.4)),
        ("8 1/2in×11in", (215.9, 279.4)),
        ("20cm x 250 mm", (200, 250)),
        ("200 by 250", (200, 250)),
        ("200X250 MM", (200, 250)),
        ("8in x 10", (203.2, 254)),
    ],
)
def test_sizes(text, size):
    assert size_mm(text) == pytest.approx(size, abs=1e-9)


@pytest.mark.parametrize("text", ["200", "200mm", "x", "200x", "x200", "1x2x3", "axb", "widexhigh"])
def test_not_sizes(text):
    with pytest.raises(ValueError):
        size_mm(text)


@given(st.decimals(min_value=0, max_value=10_000, places=6))
def test_a_written_length_reads_back_as_the_same_number(value):
    length = round(float(value), 6)
    assert length_mm(written_mm(length)) == length
    assert size_mm(written_size((length, 1.5))) == (length, 1.5)


@given(st.fractions(min_value=0, max_value=100, max_denominator=64))
def test_a_size_in_inches_reads_back_as_the_same_numbers(side):
    size = size_mm(f"{side.numerator}/{side.denominator} x 7in")
    assert size.inches
    assert size_mm(written_size(size)) == size


@pytest.mark.parametrize(
    ("text", "inches"),
    [("8x10in", True), ('8 1/2 x 11"', True), ("8x10", False), ("203.2x254mm", False), ("8in x 254mm", False)],
)
def test_a_size_knows_whether_it_was_written_in_inches_in_other_processes_too(text, inches):
    size = size_mm(text)
    assert size.inches == inches
    assert pickle.loads(pickle.dumps(size)).inches == inches


@pytest.mark.parametrize("text", ["3/4", "8 1/2", "¾", "1-1/2"])
def test_a_fraction_needs_its_unit(text):
    with pytest.raises(ValueError, match=f"write {text}in"):
        length_mm(text)
    with pytest.raises(ValueError, match="a fraction needs its unit"):
        size_mm(f"{text} x 11")


@given(st.text(max_size=12))
def test_any_text_is_a_length_or_a_value_error(text):
    for read in (length_mm, size_mm):
        with contextlib.suppress(ValueError):
            read(text)

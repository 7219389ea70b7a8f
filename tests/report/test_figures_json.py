"""Figures as JSON: the text by the standard library's reader, and back to what they were."""

from __future__ import annotations

import json
from dataclasses import dataclass, field, fields, replace

import pytest
from sheet_figures import PATTERN, REGISTER, STENCIL, TEMPLATE, job_figures, plaque

from shadowrout.report.figures.figures_json import EMPTY_WHERE_NONE, as_json, from_json
from shadowrout.report.figures.job_figures import JobFigures, PlaqueFigures

FULL = job_figures(plaque("full", register=REGISTER, stencil=STENCIL, template=TEMPLATE, pattern=PATTERN), plaque())


@dataclass(frozen=True)
class Sheets:
    for_: str
    size_mm: tuple[float, float]
    thickness_mm: float | None
    part: Sheets | None = field(metadata=EMPTY_WHERE_NONE, default=None)


SHEETS = Sheets("stencil", (2.5, 1), None)


def test_fields_are_keys_in_their_order():
    told = json.loads(as_json(FULL))
    assert list(told) == [known.name for known in fields(JobFigures)]
    assert list(told["plaques"][0]) == [known.name for known in fields(PlaqueFigures)]


def test_what_was_not_made_is_empty_and_what_is_not_known_is_null():
    """RFC 8259, section 3: null is the literal for no value."""
    assert json.loads(as_json(SHEETS)) == {"for": "stencil", "size_mm": [2.5, 1], "thickness_mm": None, "part": {}}


def test_numbers_of_a_list_stand_on_one_line_and_texts_stay_as_they_are():
    named = replace(FULL, picture="[\n1,\n2\n] “é”.png")
    text = as_json(named)
    assert '"size_mm": [120.0, 100.0],' in text
    assert json.loads(text)["picture"] == named.picture


@pytest.mark.parametrize("figures", [FULL, SHEETS, replace(SHEETS, part=SHEETS)], ids=["job", "sheets", "nested"])
def test_figures_read_back_are_the_same(figures):
    assert from_json(type(figures), as_json(figures).encode()) == figures


def test_keys_that_a_reader_has_no_field_for_are_passed_over():
    assert from_json(Sheets, as_json(SHEETS).replace("{", '{"colour": 1,', 1).encode()) == SHEETS


@pytest.mark.parametrize(
    ("was", "becomes"),
    [
        ('"stencil"', "3"),
        ("2.5", '"wide"'),
        ("[2.5, 1]", "[2.5]"),
        ("[2.5, 1]", "2.5"),
        ('"thickness_mm"', '"thick_mm"'),
        ("{}", "7"),
        ("}", ""),
    ],
)
def test_what_does_not_fit_is_refused(was, becomes):
    text = as_json(SHEETS)
    assert was in text
    with pytest.raises(ValueError, match="these are no Sheets: "):
        from_json(Sheets, text.replace(was, becomes).encode())

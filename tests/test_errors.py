"""Errors carry their lengths: one line in millimetres, in the reader's unit on request, and so from other processes."""

from __future__ import annotations

import pickle

import pytest

from shadowrout.errors import InputError, OutputError, PromiseError, SettingError, ShadowroutError, told
from shadowrout.words.sentences import Mm, Sentence
from shadowrout.words.units import Unit

TOO_WIDE = Sentence("{margin} is too wide; give {most} or less", margin=Mm(25.4), most=Mm(12.3, bound="most"))

ERRORS = [
    (SettingError("plaque.margin", TOO_WIDE), "plaque.margin: "),
    (InputError("200x250mm.png", TOO_WIDE), "200x250mm.png: "),
    (PromiseError(TOO_WIDE), ""),
    (OutputError(TOO_WIDE), ""),
    (ShadowroutError(TOO_WIDE), ""),
]


@pytest.mark.parametrize(("error", "head"), ERRORS, ids=lambda value: type(value).__name__)
@pytest.mark.parametrize("pickled", [False, True])
def test_an_error_is_told_in_both_units(error, head, pickled):
    if pickled:
        error = pickle.loads(pickle.dumps(error))
    assert str(error) == f"{head}25.4mm is too wide; give 12.3mm or less"
    in_inches = error.in_unit(Unit.INCH)
    assert type(in_inches) is type(error)
    assert str(in_inches) == f"{head}1in is too wide; give 0.484in or less"
    assert str(in_inches.in_unit(Unit.MM)) == str(in_inches)
    assert told(in_inches) == (error.exit_code, str(in_inches))


def test_what_an_error_is_about_is_kept():
    setting, source = SettingError("plaque.margin", TOO_WIDE), InputError("cat.png", "is empty")
    assert setting.in_unit(Unit.INCH).key == pickle.loads(pickle.dumps(setting)).key == "plaque.margin"
    assert setting.problem == TOO_WIDE
    assert (source.source, source.problem) == ("cat.png", "is empty")


def test_an_error_says_another_ones_sentence_in_its_turn():
    error = PromiseError(Sentence("{first}; try again", first=SettingError("plaque.margin", TOO_WIDE).sentence))
    assert str(error.in_unit(Unit.INCH)) == "plaque.margin: 1in is too wide; give 0.484in or less; try again"


def test_an_error_is_one_line_that_any_terminal_can_show():
    error = SettingError("--out", Sentence("{name}\n  is {length}", name="a\x1b[2J", length=Mm(3)))
    assert str(error) == "--out: a\\x1b[2J is 3mm"
    assert str(error.in_unit(Unit.INCH)) == "--out: a\\x1b[2J is 0.118in"

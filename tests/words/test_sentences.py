"""Sentences that hold lengths and are worded in either unit; one inch is 25.4 mm exactly (NIST SP 811, appendix B)."""

from __future__ import annotations

import ast
import pickle
import re
import string
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shadowrout.words.sentences import Mm, Sentence, worded
from shadowrout.words.units import Unit

SOURCE = Path(__file__).parents[2] / "src" / "shadowrout"

NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e-\d+)?")


@pytest.mark.parametrize(
    ("sentence", "mm", "inches"),
    [
        (
            Sentence("a piece of {area} falls out", area=Mm.area(12.9)),
            "a piece of 12.9mm2 falls out",
            "a piece of 0.02 sq in falls out",
        ),
        (
            Sentence("a piece of {area:.2f mm} falls out", area=Mm.area(12.9)),
            "a piece of 12.90 mm2 falls out",
            "a piece of 0.02 sq in falls out",
        ),
        (
            Sentence("a part falls out at {place:.1f}; try", place=Mm.place(25.4, -50.8)),
            "a part falls out at x 25.4, y -50.8mm; try",
            "a part falls out at x 1, y -2in; try",
        ),
        (
            Sentence("the hole at {place} lies off", place=Mm(25.4, 50.8, pattern="{}, {}")),
            "the hole at 25.4, 50.8mm lies off",
            "the hole at 1, 2in lies off",
        ),
        (Sentence("layer {name}: 2 shapes", name="pocket-3_00mm"), *["layer pocket-3_00mm: 2 shapes"] * 2),
        (
            Sentence("{name}: {size:g mm} are asked for", name="200x250mm", size=Mm.size(254, 25.4)),
            "200x250mm: 254 x 25.4 mm are asked for",
            "200x250mm: 10 x 1 in are asked for",
        ),
        (
            Sentence("a plaque of {size:.0f}", size=Mm.size(254.2, 127.4)),
            "a plaque of 254x127mm",
            "a plaque of 10x5in",
        ),
        (
            Sentence("it spans {span} across", span=Mm.span(0, 254)),
            "it spans 0 to 254mm across",
            "it spans 0 to 10in across",
        ),
        (Sentence("under {finest:g mm}", finest=Mm(0.0001)), "under 0.0001 mm", "under 0.000004 in"),
        (
            Sentence("{problem}; {share:.0%} of {count} {name!r}", problem="so", share=0.5, count=3, name="{x}"),
            *["so; 50% of 3 '{x}'"] * 2,
        ),
    ],
)
def test_what_is_told_in_both_units(sentence, mm, inches):
    assert str(sentence) == sentence.told(Unit.MM) == mm
    assert sentence.told(Unit.INCH) == inches


@pytest.mark.parametrize("seed", range(5))
def test_a_length_is_the_same_in_both_units(seed):
    for value in np.random.default_rng(seed).uniform(0.01, 600, 50):
        inches = float(Mm(value).told(Unit.INCH, ".3f").removesuffix("in"))
        assert inches * 25.4 == pytest.approx(value, abs=0.0006)


@given(st.floats(min_value=0.01, max_value=1e4), st.sampled_from(["g", ".1f", ".2f"]))
def test_a_bound_stays_a_bound(value, digits):
    told = float(f"{value:{digits}}")
    most, least = (
        float(NUMBER.match(Mm(value, bound=bound).told(Unit.INCH, digits))[0]) * 25.4 for bound in ("most", "least")
    )
    assert -1e-4 <= told - most < 0.03
    assert -1e-4 <= least - told < 0.03


def test_a_bound_of_several_lengths_is_one_of_each():
    assert Mm.size(101, 152, bound="least").told(Unit.INCH) == "3.977x5.985in"  # 3.9764 x 5.9843
    assert Mm.span(0, 101, bound="most").told(Unit.INCH) == "0 to 3.976in"


def test_a_sentence_in_a_sentence_is_told_in_the_same_unit():
    inner = Sentence("leaves {left:.4g mm}", left=Mm(2.54))
    outer = Sentence("{depth:g mm} {inner}", depth=Mm(25.4), inner=inner)
    assert (str(outer), outer.told(Unit.INCH)) == ("25.4 mm leaves 2.54 mm", "1 in leaves 0.1 in")
    joined = Sentence.joined([inner, "or none"], by=" or ")
    assert joined.told(Unit.INCH) == "leaves 0.1 in or or none"


def test_sentences_that_read_the_same_are_the_same():
    one, other = (Sentence("{length:.1f} long", length=Mm(value)) for value in (2.04, 2.01))
    assert one == other
    assert len({one, other}) == 1
    assert one != Sentence("{length:.1f} wide", length=Mm(2.04))
    assert one != "2.0mm long"


def test_a_sentence_keeps_its_values_in_a_pickle():
    sentence = pickle.loads(pickle.dumps(Sentence("{most} or less", most=Mm(2.0, bound="most"))))
    assert (str(sentence), sentence.told(Unit.INCH)) == ("2mm or less", "0.0787in or less")


def test_a_value_that_lacks_is_missed_at_once():
    with pytest.raises(KeyError):
        Sentence("{length} long")


def test_plain_text_is_the_same_in_both_units():
    assert worded("3mm", Unit.INCH) == "3mm"


def sentences_of(path):
    """Yield the calls in a module that make a sentence from a template that stands there."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        called = node.func if isinstance(node, ast.Call) else None
        if isinstance(called, ast.Name) and called.id == "Sentence" and isinstance(node.args[0], ast.Constant):
            yield node


def test_every_sentence_has_the_values_that_it_names():
    """One that is seldom told must not fail when it is."""
    found = 0
    for path in SOURCE.rglob("*.py"):
        for call in sentences_of(path):
            fields = [(name, digits) for _, name, digits, _ in string.Formatter().parse(call.args[0].value) if name]
            values = {keyword.arg for keyword in call.keywords}
            assert {name for name, _ in fields} == values, f"{path}:{call.lineno}"
            for _, digits in fields:
                assert re.fullmatch(r"(g|%|\.\d[fg%])?( mm)?", digits), f"{path}:{call.lineno}: {digits}"
            found += 1
    assert found > 80

"""Sentences that hold their lengths as values, so that they can be told in whatever unit the reader works in.

A room that has something to say writes it once, with its figures in millimetres; nobody rewrites it afterwards:

>>> told = Sentence("{margin} leaves too little; give {most} or less", margin=Mm(40), most=Mm(12.3, bound="most"))
>>> told.told(Unit.MM), told.told(Unit.INCH)
('40mm leaves too little; give 12.3mm or less', '1.575in leaves too little; give 0.484in or less')

Behind a colon stands how a number is written in millimetres, as in an f-string, "g" where nothing is said. " mm" behind
that sets the unit apart, whatever the unit is: ``{depth:.2f mm}``. Without it a length can be copied into a job file.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Self

from shadowrout.words.lengths import Bound, in_message
from shadowrout.words.units import Unit

_APART = " mm"


class Mm:
    """A length in millimetres, or several with one unit behind the last, as a sentence holds them.

    A ``bound`` says that "most" or "least" which works or is allowed, and is rounded so that it still is in inches.
    ``pattern`` sets several lengths in words; its ``{gap}`` is a space where the unit is set apart.
    """

    def __init__(self, *figures: float, pattern: str = "{}", bound: Bound | None = None, squared: bool = False) -> None:
        self._figures = figures
        self._pattern = pattern
        self._bound = bound
        self._squared = squared

    @classmethod
    def size(cls, width: float, height: float, *, bound: Bound | None = None) -> Self:
        """Return a width x height.

        >>> Mm.size(254, 25.4).told(Unit.INCH), Mm.size(254, 25.4).told(Unit.MM, "g mm")
        ('10x1in', '254 x 25.4 mm')
        """
        return cls(width, height, pattern="{}{gap}x{gap}{}", bound=bound)

    @classmethod
    def place(cls, x: float, y: float) -> Self:
        """Return a place on the board.

        >>> Mm.place(25.4, 3).told(Unit.INCH, ".2f mm")
        'x 1, y 0.1181 in'
        """
        return cls(x, y, pattern="x {}, y {}")

    @classmethod
    def span(cls, start: float, end: float, *, bound: Bound | None = None) -> Self:
        """Return all that lies between two lengths.

        >>> Mm.span(0, 254).told(Unit.INCH)
        '0 to 10in'
        """
        return cls(start, end, pattern="{} to {}", bound=bound)

    @classmethod
    def area(cls, area_mm2: float) -> Self:
        """Return an area in square millimetres.

        >>> Mm.area(12.94).told(Unit.MM, ".1f"), Mm.area(12.94).told(Unit.INCH, ".1f")
        ('12.9mm2', '0.02 sq in')
        """
        return cls(area_mm2, squared=True)

    def told(self, unit: Unit, digits: str = "") -> str:
        """Return it in ``unit``, its number of millimetres written as ``digits`` says."""
        number, gap = digits.removesuffix(_APART) or "g", " " if digits.endswith(_APART) else ""
        power = 2 if self._squared else 1
        told = [in_message(figure, unit, digits=number, bound=self._bound, power=power) for figure in self._figures]
        symbol = f"{gap}{unit}"
        if self._squared:
            symbol = f"{gap}mm2" if unit is Unit.MM else " sq in"
        return self._pattern.format(*told, gap=gap) + symbol


class Sentence:
    """A sentence, or part of one, with its values by name; two are the same where they read the same."""

    def __init__(self, template: str, **values: Mm | Sentence | str | float) -> None:
        self._template = template
        self._values = values
        self._in_mm = self.told(Unit.MM)  # at once, so that a value that lacks is missed where the sentence is written

    @classmethod
    def joined(cls, parts: Sequence[str | Sentence], by: str = ", ") -> Sentence:
        """Return several parts as one.

        >>> str(Sentence.joined(["less", Sentence("{least} or more", least=Mm(3))], by=", or "))
        'less, or 3mm or more'
        """
        named = {f"part{number}": part for number, part in enumerate(parts)}
        return cls(by.join(f"{{{name}}}" for name in named), **named)

    def told(self, unit: Unit) -> str:
        """Return the sentence with all its lengths in ``unit``."""
        return self._template.format_map({name: _InUnit(value, unit) for name, value in self._values.items()})

    def __str__(self) -> str:
        return self._in_mm

    def __repr__(self) -> str:
        return f"<{self}>"

    def __eq__(self, other: object) -> bool:
        return str(self) == str(other) if isinstance(other, Sentence) else NotImplemented

    def __hash__(self) -> int:
        return hash(str(self))


class _InUnit:
    """A value as a template takes it in: by ``format`` and its digits."""

    def __init__(self, value: Mm | Sentence | str | float, unit: Unit) -> None:
        self._value = value
        self._unit = unit

    def __format__(self, digits: str) -> str:
        if isinstance(self._value, Mm):
            return self._value.told(self._unit, digits)
        return format(worded(self._value, self._unit) if isinstance(self._value, Sentence) else self._value, digits)

    def __repr__(self) -> str:
        return repr(self._value)


def worded(text: str | Sentence, unit: Unit) -> str:
    """Return a text that may hold lengths in ``unit``.

    >>> worded("no lengths", Unit.INCH), worded(Sentence("{width} wide", width=Mm(25.4)), Unit.INCH)
    ('no lengths', '1in wide')
    """
    return text if isinstance(text, str) else text.told(unit)

"""Text as a terminal or a page may show it, whoever wrote the names in it."""

from __future__ import annotations

_KEPT = "\n\u00a0"
"""What isn't printable by Python's measure and does no harm: the line's end, and the space that no line breaks at."""


def showable(text: str) -> str:
    r"""Return text in which every character that can't be seen is written as an escape.

    Among them are those that a terminal obeys (ECMA-48), those that turn the direction of writing (Unicode Standard
    Annex 9), and bytes of a file's name that are no UTF-8, which Python holds as lone surrogates (PEP 383).

    >>> showable("a\x1b[2J"), showable("a\u202egpj.exe"), showable("caf\udce9"), showable("Bücher\n")
    ('a\\x1b[2J', 'a\\u202egpj.exe', 'caf\\udce9', 'Bücher\n')
    """
    if text.isprintable():
        return text
    return "".join(c if c.isprintable() or c in _KEPT else ascii(c)[1:-1] for c in text)

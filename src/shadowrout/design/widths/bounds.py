"""How much a design may hold: pictures of noise, fine checks and small print would keep a computer busy for hours.

Strokes bound the time of every later step, and the outlines' length that of telling the strokes. Crowded places bound
that of the widening, whose second turn goes over all that lies around them. Each is known before the work that it
stands for is begun.
"""

from __future__ import annotations

from shadowrout.errors import InputError
from shadowrout.words.sentences import Mm, Sentence

MOST_OUTLINE_MM = 150_000.0
"""The longest outlines of a design, all together: twice those of a busy photo at 1200 mm."""

MOST_STROKES = 10_000
"""The most strokes of a design: twice those of a busy photo at 1200 mm or of noise at 200 mm."""

MOST_CROWDED = 1_000
"""The most places where a thin line has no room to be widened: a cat at 200 mm has ten, noise there a hundred."""


def check_outlines(length_mm: float) -> None:
    """Raise InputError for longer outlines than can be worked on in a minute or so."""
    if length_mm > MOST_OUTLINE_MM:
        raise _too_much(f"{length_mm / 1000:.0f} m of outlines", f"{MOST_OUTLINE_MM / 1000:.0f} m")


def check_strokes(count: int) -> None:
    """Raise InputError for more strokes than can be worked on in a minute or so."""
    if count > MOST_STROKES:
        raise _too_much(f"{count} strokes", f"{MOST_STROKES}")


def _too_much(held: str, most: str) -> InputError:
    return InputError(
        "the picture",
        f"its design has {held} at this size, and {most} is the most; make the plaque smaller, tone.detail or "
        "tone.smoothing coarser, or crop the picture",
    )


def check_crowded(count: int, *, finest_mm: float) -> None:
    """Raise InputError for more places without room than can be worked on in a minute or so."""
    if count > MOST_CROWDED:
        raise InputError(
            "the picture",
            Sentence(
                "its design has {count} places at this size where lines below the finest width, {finest}, stand too "
                "close together to be widened, and {most} is the most; make the plaque larger, tone.smoothing coarser, "
                "or crop the picture",
                count=count,
                finest=Mm(finest_mm),
                most=MOST_CROWDED,
            ),
        )

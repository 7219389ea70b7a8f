"""How much a design may hold: pictures of noise, fine checks and small print would keep a computer busy for hours.

Strokes bound the time of every later step. Crowded places bound that of the widening, whose second turn goes over all
that lies around them. Both are known before the work that they stand for is begun.
"""

from __future__ import annotations

from shadowrout.errors import InputError

MOST_STROKES = 10_000
"""The most strokes of a design: twice those of a busy photo at 1200 mm or of noise at 200 mm."""

MOST_CROWDED = 1_000
"""The most places where a thin line has no room to be widened: a cat at 200 mm has ten, noise there a hundred."""


def check_strokes(count: int) -> None:
    """Raise InputError for more strokes than can be worked on in a minute or so."""
    if count > MOST_STROKES:
        raise InputError(
            "the picture",
            f"its design has {count} strokes at this size, and {MOST_STROKES} is the most; make the plaque smaller, "
            "tone.detail or tone.smoothing coarser, or crop the picture",
        )


def check_crowded(count: int, *, finest_mm: float) -> None:
    """Raise InputError for more places without room than can be worked on in a minute or so."""
    if count > MOST_CROWDED:
        raise InputError(
            "the picture",
            f"its design has {count} places at this size where lines below the finest width, {finest_mm:g}mm, stand "
            f"too close together to be widened, and {MOST_CROWDED} is the most; make the plaque larger, tone.smoothing "
            "coarser, or crop the picture",
        )

"""The narrow light between recesses: how much there is, and what to do about the worst of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from shadowrout.carving.fragile_light import NARROW_MM
from shadowrout.report.figures.fragile_figures import FragileFigures, RidgeFigures
from shadowrout.report.figures.job_figures import PlaqueFigures
from shadowrout.report.figures.woods import SIDE_HARDNESS_N
from shadowrout.report.jobsheet.tables import Section, SheetTable
from shadowrout.words.wording import Words, counted

_ACROSS, _ALONG = 0.75, 0.25
"""Mean sin^2 of the angle to the grain from which a ridge is called across it, and up to which along it: 60, 30 deg.

In thirds of a right angle, since a ranking needs no finer words.
"""

_GRAIN_WORDS = {"along-width": "along the plaque's width", "along-height": "along the plaque's height"}

_DRAWN = ", numbered as on the drawing's layer fragile-light, which is switched off"


def told_of_fragile(plaques: Sequence[PlaqueFigures], words: Words) -> list[str]:
    """Return a line for each plaque with fragile light: how much, and where the first in the ranking is."""
    return [
        f"{plaque.name}: {counted(fragile.count, 'ridge')} of fragile light, "
        f"{words.short_run(fragile.length_mm)} in all; first in the ranking is the one at "
        f"{_place(fragile.worst[0], words)}{_in_layer(plaque.files)}"
        for plaque in plaques
        if (fragile := plaque.fragile_light).count
    ]


def _in_layer(files: Sequence[str]) -> str:
    """Return where the ridges are drawn; nothing where no drawing has them."""
    return " (layer fragile-light, off)" if any(name.startswith("carve.") for name in files) else ""


def _place(ridge: RidgeFigures, words: Words) -> str:
    return " / ".join(words.short(axis) for axis in ridge.place_mm)


def fragile_section(wood: str, fragile: FragileFigures, words: Words, *, drawn: bool) -> Iterator[Section]:
    """Yield the section on a plaque's fragile light; none where there is none. ``drawn``: whether a drawing has it."""
    if not fragile.count:
        return
    rows = tuple(
        (
            f"{number}",
            _place(ridge, words),
            words.short(ridge.width_mm),
            words.short(ridge.length_mm),
            _grain(ridge.across_grain) + (", end free" if ridge.free_end else ""),
        )
        for number, ridge in enumerate(fragile.worst, start=1)
    )
    facts = (
        (
            "Ridges",
            f"{counted(fragile.count, 'ridge')} under {words.depth(NARROW_MM)} wide half-way down, "
            f"{words.run(fragile.length_mm)} in all",
        ),
        ("Grain", f"taken to run {_GRAIN_WORDS[fragile.grain]}; if yours doesn't, say so under [wood]"),
        (
            "Wood",
            f"{wood}, side hardness {SIDE_HARDNESS_N[wood]} N (Wood Handbook, FPL-GTR-190, table 5-3a); it tells how "
            "well wood resists a dent and isn't in the ranking",
        ),
    )
    head = ("Ridge", "Middle at x / y", "Width", "Length", "To the grain")
    yield Section(
        "Fragile light",
        facts,
        (SheetTable(f"The worst{_DRAWN if drawn else ''}", head, rows),),
        remark=(
            "A ranking, not a strength: no wood was tested. Cut beside these ridges by hand, with a keen tool, away "
            "from a free end, and take care when sanding. Common practice, no source: let thin CA glue soak in and "
            "harden before cutting."
        ),
    )


def _grain(across: float) -> str:
    if across >= _ACROSS:
        return "across"
    return "along" if across <= _ALONG else "slanting"

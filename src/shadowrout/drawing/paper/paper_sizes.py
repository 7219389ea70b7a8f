"""The sheets that printers take."""

from __future__ import annotations

from shadowrout.errors import SettingError
from shadowrout.words.units import MM_PER_INCH

PAPERS_MM: dict[str, tuple[float, float]] = {
    "A4": (210.0, 297.0),
    "A3": (297.0, 420.0),
    "letter": (8.5 * MM_PER_INCH, 11 * MM_PER_INCH),
    "legal": (8.5 * MM_PER_INCH, 14 * MM_PER_INCH),
    "tabloid": (11 * MM_PER_INCH, 17 * MM_PER_INCH),
}
"""Width and height held upright: ISO 216 for A4 and A3, ANSI/ASME Y14.1 for letter (A) and tabloid (B)."""


def paper_name(width: float, height: float) -> str:
    """Return the name of a sheet held either way, or its size in mm where it has none here."""
    upright = (min(width, height), max(width, height))
    names = [name for name, size in PAPERS_MM.items() if size == upright]
    return names[0] if names else f"{upright[0]:g} x {upright[1]:g} mm"


def paper_mm(name: str) -> tuple[float, float]:
    """Return the width and height of a sheet held upright, in mm; raises SettingError for a name not known."""
    if name not in PAPERS_MM:
        raise SettingError("pattern.paper", f"{name!r} is not known; give one of {', '.join(PAPERS_MM)}")
    return PAPERS_MM[name]

"""What of a design is narrower than the finest line, tapered ends told apart from necks, by openings alone."""

from __future__ import annotations

from dataclasses import dataclass

from shadowrout.geometry.region import Region

ERROR_MM = 0.005
NARROW = 0.9
"""Share of the finest line under which a width counts as narrower: lines up to a twentieth under it are left."""
NARROWER = (0.8, 0.65, 0.5, 0.35)
LEAST_MM2 = 0.01
"""Area under which a piece is left by reckoning with polygons."""


@dataclass(frozen=True)
class Narrow:
    """What of a design is narrower than a share of the finest line: counts, and areas over the dark."""

    tapers: int
    necks: int
    taper_share: float
    neck_share: float


def opened(shadow: Region, width_mm: float) -> Region:
    """Return what discs of the width reach from inside, and a hair more."""
    radius = width_mm / 2
    return shadow.offset(-radius, error=ERROR_MM).offset(radius + 2 * ERROR_MM, error=ERROR_MM)


def narrow_parts(shadow: Region, detail_mm: float) -> Narrow:
    """Return what no disc of NARROW of the finest line reaches, told apart.

    A piece is a taper (or a corner, the shortest of tapers) where it touches what is wide enough once and from there
    only gets narrower: what discs of any smaller width reach of it hangs together with what is wide enough. All else is
    a neck: it lies between two wide parts, widens again past a narrow place, or is wide enough nowhere.
    """
    wide = opened(shadow, NARROW * detail_mm)
    grown = wide.offset(3 * ERROR_MM, error=ERROR_MM)
    past_narrow = Region.empty()
    for share in NARROWER:
        for part in opened(shadow, share * detail_mm).parts():
            if part.intersection(wide).area < LEAST_MM2:
                past_narrow = past_narrow.union(part)
    tapers, necks = [], []
    for piece in shadow.difference(wide).keeping(LEAST_MM2).parts():
        touches = len(piece.offset(ERROR_MM, error=ERROR_MM).intersection(grown).keeping(ERROR_MM**2))
        widens = piece.intersection(past_narrow).area > LEAST_MM2
        (tapers if touches == 1 and not widens else necks).append(piece.area)
    return Narrow(len(tapers), len(necks), sum(tapers) / shadow.area, sum(necks) / shadow.area)

"""How much of a picture should become shadow when nobody says."""

from __future__ import annotations

import numpy as np

from shadowrout.design.tone.fields import Field
from shadowrout.design.tone.levels import otsu_level

NEAR_LEVEL = 4.0
"""Half the band of CIE L* around a level in which pixels count as undecided."""
PULL = 8.0
"""Weight of the distance from the share aimed at against the logarithm of the undecided share."""
OVER_OTSU = 0.033
"""How far the share may exceed that of a single level by Otsu's method."""
AIM_OVER_OTSU = 0.02
"""What lines add to the dark areas, as a share of the picture."""
GREATEST_SHARE = 0.6
LEAST_SHARE = 0.1
"""Between these a share that nobody asked for lies: outside them little is left to tell shapes by."""
LEAST_OF_OTSU = 0.6
"""Least share over that of Otsu's level, where the background isn't dark."""
DARK_BACKGROUND_SHARE = 0.25
"""Share aimed at where the background is dark and would else swallow the subject."""
FRAME = 1 / 16
"""Width of the frame that stands for the background, over each side of the picture."""
DARK_FRAME = 0.6
"""Share of the frame that is dark in a picture with a dark background."""


def steady_share(dark_field: Field, lightness: Field) -> float:
    """Return the share of dark at which the design changes least when the level moves, rounded to 3 decimals.

    A level that many pixels lie near breaks a smooth background into crumbs. So among the shares that are
    allowed the one is taken with the fewest undecided pixels, pulled towards the share of Otsu's level, or
    towards a quarter where the picture's frame is mostly dark. ``dark_field`` and ``lightness`` have one shape.
    """
    otsu = lightness < otsu_level(lightness)
    otsu_share = float(otsu.mean())
    highest = min(otsu_share + OVER_OTSU, GREATEST_SHARE)
    dark_background = _frame_share(otsu) > DARK_FRAME
    aim = min(DARK_BACKGROUND_SHARE if dark_background else max(otsu_share + AIM_OVER_OTSU, LEAST_SHARE), highest)
    lowest = min(LEAST_SHARE if dark_background else max(LEAST_SHARE, LEAST_OF_OTSU * otsu_share), highest)
    shares = np.linspace(lowest, highest, 60)
    ordered = np.sort(dark_field, axis=None)
    levels = ordered[((1 - shares) * (ordered.size - 1)).astype(np.intp)]
    above, below = (np.searchsorted(ordered, levels + sign * NEAR_LEVEL) for sign in (1, -1))
    undecided = (above - below + 1) / ordered.size
    cost = np.log(undecided) + PULL * np.abs(shares - aim)
    return round(float(shares[np.argmin(cost)]), 3)


def _frame_share(dark: np.ndarray) -> float:
    """Return the share of dark in the frame: left, right and top, since subjects often reach the bottom."""
    rows, columns = (max(1, round(side * FRAME)) for side in dark.shape)
    return float(np.mean([dark[:, :columns].mean(), dark[:, -columns:].mean(), dark[:rows].mean()]))

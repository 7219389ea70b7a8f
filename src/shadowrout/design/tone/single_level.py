"""One level for the whole picture: dark is what is darker than it, by default Otsu's.

Source: Otsu, A Threshold Selection Method from Gray-Level Histograms, IEEE Transactions on Systems, Man, and
Cybernetics, 1979. Setting: smoothing, the sigma of a Gaussian in mm.
"""

from __future__ import annotations

from shadowrout.design.tone.levels import Field, blurred


def darkness(lightness: Field, *, smoothing_px: float) -> Field:
    """Return how dark each pixel is: the smoothed CIE L*, negated; shape (height, width)."""
    return -blurred(lightness, smoothing_px)

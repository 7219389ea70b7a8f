"""Colours that people with every kind of colour vision can tell apart.

The eight of M. Okabe and K. Ito, "Color Universal Design: How to make figures and presentations that are friendly to
colorblind people" (2002, revised 2008).
"""

from __future__ import annotations

Colour = tuple[int, int, int]
"""Red, green and blue, 0 to 255 (sRGB)."""

BLACK: Colour = (0, 0, 0)
ORANGE: Colour = (230, 159, 0)
SKY_BLUE: Colour = (86, 180, 233)
BLUISH_GREEN: Colour = (0, 158, 115)
YELLOW: Colour = (240, 228, 66)
BLUE: Colour = (0, 114, 178)
VERMILLION: Colour = (213, 94, 0)
REDDISH_PURPLE: Colour = (204, 121, 167)

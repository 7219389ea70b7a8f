"""The colour of each role.

The colours are the eight of M. Okabe and K. Ito, "Color Universal Design: How to make figures and presentations
that are friendly to colorblind people" (2002, revised 2008), without yellow, which is lost on white. Roles that
lie close together in one file get colours far apart: a pocket's wall and the cutter's path inside it differ most.
"""

from __future__ import annotations

from shadowrout.drawing.shapes import Role

Colour = tuple[int, int, int]
"""Red, green and blue, 0 to 255 (sRGB)."""

BLACK: Colour = (0, 0, 0)
ORANGE: Colour = (230, 159, 0)
SKY_BLUE: Colour = (86, 180, 233)
BLUISH_GREEN: Colour = (0, 158, 115)
BLUE: Colour = (0, 114, 178)
VERMILLION: Colour = (213, 94, 0)
REDDISH_PURPLE: Colour = (204, 121, 167)

COLOURS: dict[Role, Colour] = {
    Role.PLAQUE_EDGE: BLACK,
    Role.SHADOW: SKY_BLUE,
    Role.POCKET: BLUE,
    Role.CUTTER_PATH: VERMILLION,
    Role.V_LINE: BLUISH_GREEN,
    Role.FLOW_LINE: ORANGE,
    Role.OPENING: BLUE,
    Role.BRIDGE: ORANGE,
    Role.SHEET_EDGE: BLACK,
    Role.REGISTER: REDDISH_PURPLE,
    Role.NOTE: BLACK,
}
"""One colour a role."""

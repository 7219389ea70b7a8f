"""The colour of each role.

The eight of ``colours`` without yellow, which is lost on white. Roles that lie close together in one file get colours
far apart: a pocket's wall and the cutter's path inside it differ most.
"""

from __future__ import annotations

from shadowrout.drawing.shapes import Role
from shadowrout.words.colours import BLACK, BLUE, BLUISH_GREEN, ORANGE, REDDISH_PURPLE, SKY_BLUE, VERMILLION, Colour

COLOURS: dict[Role, Colour] = {
    Role.PLAQUE_EDGE: BLACK,
    Role.SHADOW: SKY_BLUE,
    Role.POCKET: BLUE,
    Role.CUTTER_PATH: VERMILLION,
    Role.LEFT_BY_BIT: VERMILLION,
    Role.V_LINE: BLUISH_GREEN,
    Role.FLOW_LINE: ORANGE,
    Role.FRAGILE_LIGHT: REDDISH_PURPLE,
    Role.OPENING: BLUE,
    Role.BRIDGE: ORANGE,
    Role.SHEET_EDGE: BLACK,
    Role.REGISTER: REDDISH_PURPLE,
    Role.NOTE: BLACK,
}
"""One colour a role."""

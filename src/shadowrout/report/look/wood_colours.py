"""What colour each wood has in the picture of the finished plaque.

Colours by eye, no source: boards of one species differ as much from each other, and all of them darken with the years.
"""

from __future__ import annotations

from shadowrout.words.colours import Colour

WOOD_COLOURS: dict[str, tuple[Colour, Colour]] = {
    "basswood": ((226, 198, 158), (196, 160, 115)),
    "black cherry": ((198, 146, 110), (161, 104, 74)),
    "black walnut": ((134, 97, 72), (92, 63, 46)),
    "eastern white pine": ((238, 209, 157), (206, 154, 92)),
    "northern red oak": ((212, 166, 128), (167, 116, 82)),
    "red maple": ((224, 190, 155), (193, 150, 113)),
    "sugar maple": ((236, 215, 184), (208, 178, 140)),
    "white oak": ((205, 174, 134), (160, 126, 92)),
    "yellow-poplar": ((215, 204, 163), (178, 168, 124)),
}
"""Early wood and late wood of each species of the options, bare and without finish."""

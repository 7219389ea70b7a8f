"""What boards weigh and how hard they are: densities and side hardness by species.

Specific gravities at 12 % moisture content from the USDA Wood Handbook (FPL-GTR-190, 2010), table 5-3a: weight when
oven-dry over the volume at that moisture. Boards of one species differ by a tenth and more either way.
"""

from __future__ import annotations

SPECIFIC_GRAVITY = {
    "basswood": 0.37,
    "black cherry": 0.50,
    "black walnut": 0.55,
    "eastern white pine": 0.35,
    "northern red oak": 0.63,
    "red maple": 0.54,
    "sugar maple": 0.63,
    "white oak": 0.68,
    "yellow-poplar": 0.42,
}
"""Specific gravity at 12 % moisture content, table 5-3a."""

SIDE_HARDNESS_N = {
    "basswood": 1800,
    "black cherry": 4200,
    "black walnut": 4500,
    "eastern white pine": 1700,
    "northern red oak": 5700,
    "red maple": 4200,
    "sugar maple": 6400,
    "white oak": 6000,
    "yellow-poplar": 2400,
}
"""Side hardness at 12 % moisture content in newtons: the load that presses a ball of 11.3 mm in by half its diameter.

From the same table 5-3a, the metric one; table 5-3b has the same in pounds-force.
"""

MOISTURE = 0.12
"""Water in the wood as a share of its oven-dry weight."""

_WATER_KG_PER_M3 = 1000.0
"""The density of water, over which a specific gravity is taken."""


def density_kg_per_m3(wood: str) -> float:
    """Return the density of a species of the options at 12 % moisture content.

    Density is the oven-dry specific gravity times that of water times (1 + moisture content) (Wood Handbook,
    chapter 4, density). Raises KeyError for a species that isn't in the table.

    >>> round(density_kg_per_m3("basswood"), 1)
    414.4
    """
    return SPECIFIC_GRAVITY[wood] * _WATER_KG_PER_M3 * (1 + MOISTURE)

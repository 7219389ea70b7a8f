"""What everyone who uses the files should read before the first cut."""

from __future__ import annotations

CAUTIONS = (
    "The machine's manual and your local rules come first. Depths, passes and every other figure here are starting "
    "points that you confirm on scrap; none of them is a promise about your machine.",
    "Wear eye protection that is rated for impact, and hearing protection from 85 dB(A) up.",
    "Collect the dust at its source and wear a mask: wood dust can cause cancer, and fine dust can burn or explode.",
    "Clamp the board and the template so that no cutter can reach a clamp. Hands stay behind the edge of a gouge.",
    "A laser cutter can blind, burn and start a fire: keep it enclosed, extract its fumes, stay with every cut and "
    "keep an extinguisher to hand.",
    "Spray paint where the air moves, with nothing near that sparks or smokes. Don't sand old paint whose make-up "
    "you don't know.",
)

"""The pictures beside the drawings: blank, or of another board."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
from PIL import Image

from shadowrout.check.findings import Promise
from spoil.handles import damage


def _blanked(path: Path, mode: str) -> None:
    with Image.open(path) as picture:
        size = picture.size
    Image.new(mode, size, "white").save(path)


@damage(Promise.COMPLETE, "preview.png: is blank", whole="made")
def a_blank_preview(place):
    _blanked(place / "preview.png", "RGB")


@damage(Promise.COMPLETE, "preview-sanding.png: is blank", whole="made")
def a_blank_picture_of_sanding(place):
    name = str(place / "preview-sanding.png")
    cv2.imwrite(name, np.zeros_like(cv2.imread(name)))


@damage(Promise.COMPLETE, "stencil.png: is blank", whole="made")
def a_blank_picture_of_the_stencil(place):
    _blanked(place / "stencil.png", "L")


@damage(Promise.COMPLETE, "preview.png", "haven't the board's proportions", whole="made")
def the_preview_of_another_board(place):
    name = str(place / "preview.png")
    cv2.imwrite(name, cv2.imread(name)[::2])

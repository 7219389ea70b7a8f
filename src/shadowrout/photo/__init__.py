"""Pictures from any file: decoded safely, upright, cropped, as lightness."""

from __future__ import annotations

from shadowrout.photo.lightness import lightness_of
from shadowrout.photo.reading import read, size_of
from shadowrout.photo.touch_up import TouchUp, fitted, read_touch_up
from shadowrout.photo.upright import Crop
from shadowrout.photo.values import Photo, resampled

__all__ = ["Crop", "Photo", "TouchUp", "fitted", "lightness_of", "read", "read_touch_up", "resampled", "size_of"]

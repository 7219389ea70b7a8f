"""The same input gives the same output, whatever the threads and wherever in memory an array happens to lie."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import cv2


@contextmanager
def repeatable() -> Iterator[None]:
    """Have OpenCV work without Intel's IPP in this thread for the block.

    IPP takes another way for values at the edge of an aligned stretch of memory, and cuts a picture into as many pieces
    as there are threads: measured with OpenCV 5.0, distances and lengths of vectors changed in their last bits from
    run to run. OpenCV's own code doesn't; it takes three times as long to enlarge a picture, and no longer elsewhere.
    Also usable as a decorator.
    """
    before = cv2.ipp.useIPP()
    cv2.ipp.setUseIPP(False)
    try:
        yield
    finally:
        cv2.ipp.setUseIPP(before)

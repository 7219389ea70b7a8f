"""Fitting: outlines of many short segments become few lines and circular arcs within a tolerance.

The tolerance is a contract. Every result is measured to its true arcs, both ways, and rings are made so that
none crosses itself or another; what can't be kept raises PromiseError.

- ``fitting``: ``fit_region`` for rings, ``fit_open`` for lines

``track`` holds what is fitted and its pieces, ``bulges`` which arcs a piece may be, ``joins`` and ``kinks`` how pieces
meet; then come the steps: ``corners``, ``search`` and ``first_pieces``, ``vertices``, ``easing``, ``repair`` by what
``measure`` finds, and ``smooth``.

Where a constant's docstring says what other values do, that is on scikit-image's astronaut, coffee cup and cat in two
tones, 200 mm wide, at tolerances of 0.05 and 0.2 mm together; needless kinks are those of ``tests/fit/test_kinks``.
"""

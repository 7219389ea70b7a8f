"""Which parts of a picture become shadow: one module a method, and one that takes one.

A tone is a field of numbers and not a picture of black and white: its zero level is the shadow's edge, so that an
outline can be drawn finer than the pixels. All lengths are millimetres on the wood, so that every plaque size
gets a design of its own.

- ``settled_tone``: the method and the share of dark where a job leaves them open; ``shares``: a share that fits;
  ``share_score``: the plainest of several designs that is like the picture
- ``choosing``: ``tone_of``, a ``Photo`` to a ``Tone`` by the method asked for
- ``keep_lines``, ``thresholds``, ``two_peaks``: the methods, which rest on ``levels`` of ``fields``
- ``flow``: the way a picture's edges run
"""

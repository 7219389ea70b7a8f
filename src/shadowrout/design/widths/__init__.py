"""Lines right for their size: those below the finest line are widened where there is room, or dropped.

- ``right_width``: ``right_for_size``, the steps; ``sorting``: which are too thin; ``rule``: how those are widened, and
  which of them go
- ``stretch``: the thin stretches, and the ``WidthReport`` of what became of them
- ``bounds``: how much a design may hold
"""

"""What is dark: a photo and a board to a ``Design`` in millimetres. All that decides it lives here.

- ``board``: the board, the picture's place on it, ``Design``
- ``tone``: a field of numbers whose zero level is the shadow's edge
- ``mask``: touch-up, specks and pinholes
- ``trace``: the zero level as rings, finer than the pixels
- ``widths``: lines right for their size
"""

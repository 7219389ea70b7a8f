"""What is dark: a photo and a board to a ``Design`` in millimetres. All that decides it lives here.

- ``plaque_design``: ``design_plaque``, one plaque's design; ``coarse_design``: one that a stencil can hold
- ``board``: the board, the picture's place on it, ``Design``
- ``two_tone``: tone, touch-up and specks at one plaque's pixels
- ``tone``: a field of numbers whose zero level is the shadow's edge
- ``mask``: touch-up, specks and pinholes
- ``clean_areas``: broad areas without chips
- ``trace``: the zero level as rings, finer than the pixels
- ``widths``: lines right for their size
"""

"""Neutral drawings: layers of paths, circles and texts in millimetres, y up, with the numbers they carry.

Here it is decided what goes into a file and on which layer. No file format is known here; the writers see
nothing but a ``Drawing``.

- ``shapes``: ``Drawing`` and what it is made of; ``palette``: the colour of each role
- ``carve_drawing``, ``stencil_drawing``, ``template_drawing``, ``stock_drawing``: one for each kind of file
- ``paper``: the full-size pattern on the sheets of a printer

``notes`` and ``labels_apart`` find places for text among ``label_spots``, off the ``ink``; ``sheet_words`` sets what a
sheet has to say. ``marks`` and ``register_layers`` are lines and crosses that several drawings have.
"""

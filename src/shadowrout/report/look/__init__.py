"""The finished plaque before it is made: cut, painted, sanded, and looked at.

- ``height_field``: ``carved``, how deep the board lies everywhere
- ``finished_look``: that painted and sanded, in its wood's ``wood_colours``
- ``stencil_picture``, ``stroke_picture``: what was changed to hold a stencil, and what became of thin strokes
- ``left_out_picture``: what was left out to keep to a plaque's hours
"""

"""What is cut beside the plaque: hardboard stencils, router templates, and what they share.

- ``stencil``: stencils in one piece; ``router``: templates for a hand-held router
- ``criterion``: whether a cut sheet, of either kind, stays in one piece
- ``plaque_marks``: the register marks of one plaque; ``register``: where such marks lie and what they measure
- ``cutting_order``: which opening is cut first; ``kerf_piece``: a piece to measure the kerf on; ``packing``: on stock
- ``refusals``: ``refuse``, what no design could have
"""

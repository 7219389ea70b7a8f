"""What is cut beside the plaque: hardboard stencils, router templates, and what they share.

- ``stencil``: stencils in one piece; ``router``: templates for a hand-held router
- ``register``: the marks that line board, pattern and sheets up
- ``cutting_order``: which opening is cut first; ``kerf_piece``: a piece to measure the kerf on; ``packing``: on stock
"""

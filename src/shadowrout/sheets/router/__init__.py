"""A template for a hand-held router: its openings for bush and bit, dealt to sheets that keep in one piece.

- ``plaque_template``: ``template_of``, one plaque's template as lines and arcs
- ``router_template``: ``make_router_template``; ``template_bridges``: what holds islands; ``guarding``: thin wood kept
- ``keys``: what keeps the bit off narrow light
- ``placing``: how it finds its place on the board
"""

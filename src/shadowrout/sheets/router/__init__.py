"""A template for a hand-held router: its openings for bush and bit, dealt to sheets that keep in one piece.

- ``router_template``: ``make_router_template``
"""

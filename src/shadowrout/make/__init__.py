"""The rooms in their order: a whole job, one plaque, many orders.

- ``pipeline``: ``make``, ``preview_tone`` and ``start``, the flat lists of steps
- ``plaque``, ``plaque_sheets``: the same for one plaque and what is cut beside it
- ``batch``: many orders, each made once
- ``processes``: independent work at the same time, each piece asked of a ``worker``
- ``demo``: the built-in example
"""

"""The rooms in their order: a whole job, one plaque, many orders.

- ``pipeline``: ``make``, ``preview_tone`` and ``start``, the flat lists of steps
- ``plaque``: the same for one plaque; ``step_by_step``: for programs, each step by itself
- ``batch``: many orders, each made once
- ``processes``: independent work at the same time, each piece asked of a ``worker``
- ``demo``: the built-in example
"""

"""The rooms in their order: a whole job, one plaque, many orders.

- ``pipeline``: ``make``, ``preview_tone`` and ``start``, the flat lists of steps
- ``plaque``: the same for one plaque; ``step_by_step``: for programs, each step by itself
- ``budget``: one plaque within its hours; ``took``: the rates of a shop by how long a plaque took
- ``plaque_files``, ``stock_files``: the files of one plaque, and of the sheets on stock
- ``tone_sheet``: one picture of many designs to choose from
- ``verdicts``: ``check``, a folder of results checked; ``made_again``: a folder's job made anew beside it, in memory
- ``inputs``: the job that a person named; ``demo``: the built-in example
- ``batch``: many orders, each made once
- ``processes``: independent work at the same time, each piece asked of a ``worker``; ``workers``: how many of them
- ``memory``: whether there is enough of it to begin
- ``repeatable``: the same bytes from the same input, wherever it is worked out
"""

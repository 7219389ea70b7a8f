"""Tests the promises on the files as written, by other means than those that made them.

Nothing here calls the code that is judged: the files are read back by readers of this room's own, and judged by
rasters, distance transforms and shapely's predicates.

- ``checking``: ``check_folder``, a folder of results to a ``Verdict``
- ``verdict``: ``Verdict``, for programs and as a table for people
"""

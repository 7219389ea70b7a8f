"""The paper pattern: what is drawn on it, the sheets it is printed on, the page in front of them.

- ``pattern``: ``pattern_drawing``, what is drawn; ``stroke_runs``: V lines by depth
- ``tiles``: the windows that it is cut into, on one of the ``paper_sizes``; ``pages``: each window's page
- ``cover``: ``pattern_pages``, the first page and all others; ``text_column``: how its text is set
"""

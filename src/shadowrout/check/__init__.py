"""Tests the promises on the files as written, by other means than those that made them.

Nothing here calls the code that is judged: the files are read back by readers of this room's own, and judged by
rasters, distance transforms and shapely's predicates.

- ``checking``: ``check_folder``, a folder of results to a ``Verdict``
- ``verdict``: ``Verdict``, for programs and as a table for people; ``findings``: what it is made of
- ``complete``, ``gouge``, ``fidelity``, ``soundness``, ``one_piece``, ``stays_dark``, ``true_size``, ``agreement``,
  ``metadata``, ``told_figures``, ``stock``: a promise each; ``bush``: what a router's bit takes, for ``gouge``

- ``pattern_pages``: the paper pattern, judged by several of these promises, with ``pattern_shadow``, ``pattern_lines``
- ``result_pictures``: that pictures aren't blank or another board's

``folder`` reads what there is, with ``svg_reader`` and ``dxf_reader``, into the values of ``drawing_file``. Promises
measure with ``curve_samples``, ``distances`` and ``raster``, and ``same_curves`` spares measuring a thing twice. What
several of them ask of a carve drawing stands in ``grooves``, ``pocket_walls``, ``flow_grooves`` and ``uncut``; figures
are held against it in ``carve_figures`` and ``pocket_places``.

``pdf_reader`` reads a PDF, by ``pdf_content`` and ``pdf_tokens``, into the values of ``printed_page``; in these
``printed_sheets`` finds what a sheet has, which by ``paper_layout`` has its ``sheet_place``. ``printed_curves`` spares
measuring lines that the carve drawing has alike.
"""

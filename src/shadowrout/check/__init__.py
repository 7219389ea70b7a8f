"""Tests the promises on the files as written, by other means than those that made them.

Nothing here calls the code that is judged: the files are read back by readers of this room's own, and judged by
rasters, distance transforms and shapely's predicates.

- ``checking``: ``check_folder``, a folder of results to a ``Verdict``
- ``verdict``: ``Verdict``, for programs and as a table for people; ``findings``: what it is made of
- ``complete``, ``gouge``, ``fidelity``, ``soundness``, ``one_piece``, ``stays_dark``, ``true_size``, ``agreement``,
  ``metadata``, ``told_figures``, ``stock``: a promise each
- ``contradictions``: all that ``told_figures`` is told of besides, by ``planned_figures``, ``drawn_figures``,
  ``sheet_figures`` and, for the job sheet, ``jobsheet_figures``, ``jobsheet_facts``, ``jobsheet_tables`` and
  ``jobsheet_settings``; ``told_values`` takes figures as they are, ``told_against`` words how two differ
- ``digests``: which files aren't as they were made, which breaks no promise

``folder`` reads what there is, with ``svg_reader`` and ``dxf_reader``, into the values of ``drawing_file``, and
``jobsheet_reader`` the job sheet, ``written_lengths`` the lengths in its text. Promises measure with ``curve_samples``,
``curve_areas``, ``stroke_depths``, ``distances`` and ``raster``, and ``same_curves`` spares measuring a thing twice.
"""

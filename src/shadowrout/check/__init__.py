"""Tests the promises on the files as written, by other means than those that made them.

Nothing here calls the code that is judged: the files are read back by readers of this room's own, and judged by
rasters, distance transforms and shapely's predicates.

- ``checking``: ``check_folder``, a folder of results to a ``Verdict``
- ``verdict``: ``Verdict``, for programs and as a table for people; ``findings``: what it is made of
- ``complete``, ``gouge``, ``fidelity``, ``soundness``, ``one_piece``, ``stays_dark``, ``true_size``, ``agreement``,
  ``metadata``, ``told_figures``, ``stock``: a promise each; ``bush``: what a router's bit takes, for ``gouge``;
  ``edge_last``: that a sheet's edge comes last, for ``metadata``; ``sheet_edges``: that it is its sheet's
- ``pattern_pages``: the paper pattern, judged by several of these promises, with ``pattern_shadow``, ``pattern_lines``
- ``result_pictures``: that pictures aren't blank or another board's
- ``contradictions``: all that ``told_figures`` is told of besides, by ``planned_figures``, ``drawn_figures``,
  ``sheet_figures`` and, for the job sheet, ``jobsheet_figures``, ``jobsheet_facts``, ``jobsheet_tables`` and
  ``jobsheet_settings``; ``numbers_table`` takes figures as they are, ``told_against`` words how two differ
- ``digests``: which files aren't as they were made, which breaks no promise

``folder`` reads what there is: drawings by ``svg_reader`` (``svg_tree``) and ``dxf_reader`` (``dxf_records``) into the
values of ``drawing_file``, the design by ``design_file``, numbers.json by ``figures_file``; ``jobsheet_reader`` the job
sheet, ``written_lengths`` the lengths in its text. Anyone may have made all this: ``untrusted`` and ``geometry_bounds``
say how much is read, ``figure_kinds``, ``svg_constructs`` and ``dxf_constructs`` what may stand there; the rest is
told. Promises measure with ``curve_samples``, ``curve_areas``, ``stroke_depths``, ``distances`` and ``raster``, and
``same_curves`` spares measuring a thing twice. What several of them ask of a carve drawing stands in ``grooves``,
``pocket_walls``, ``flow_grooves`` and ``uncut``; figures are held against it in ``carve_figures`` and
``pocket_places``.

``pdf_reader`` reads a PDF, by ``pdf_content`` and ``pdf_tokens``, into the values of ``printed_page``; in these
``printed_sheets`` finds what a sheet has, which by ``paper_layout`` has its ``sheet_place``. ``printed_curves`` spares
measuring lines that the carve drawing has alike.
"""

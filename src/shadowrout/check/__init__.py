"""Tests the promises on the files as written, by other means than those that made them.

Nothing here calls the code that is judged: the files are read back by readers of this room's own, and judged by
rasters, distance transforms and shapely's predicates.

- ``checking``: ``check_folder``, a folder of results to a ``Verdict``
- ``verdict``: ``Verdict``, for programs and as a table for people; ``findings``: what it is made of
- ``complete``, ``gouge``, ``fidelity``, ``soundness``, ``one_piece``, ``stays_dark``, ``true_size``, ``agreement``,
  ``metadata``, ``told_figures``, ``stock``: a promise each

``folder`` reads what there is: drawings by ``svg_reader`` (``svg_tree``) and ``dxf_reader`` (``dxf_records``) into the
values of ``drawing_file``, the design by ``design_file``, numbers.json by ``figures_file``. Anyone may have made all
this: ``untrusted`` and ``geometry_bounds`` say how much is read, ``figure_kinds``, ``svg_constructs`` and
``dxf_constructs`` what may stand there; the rest is told. Promises measure with ``curve_samples``, ``distances`` and
``raster``, and ``same_curves`` spares measuring a thing twice.
"""

"""What can be set: each setting declared once, with its kind, a sentence and its default.

- ``options``: ``Job`` and its sections, checked when they are made; of those, ``sheet_options`` holds what is made
  beside the board, ``shop`` what only estimates rest on; ``value_kinds``, ``duration``, ``limits`` and ``schema`` are
  what they are declared with
- ``toml_tables``: sections read from a job file, for ``Job.from_file``; ``toml_bounds`` says how large one may be,
  ``toml_faults`` what keeps one from being TOML; ``job_file``: a job as a job file's text
- ``settled_boards``: what a job leaves open about its boards; ``settled`` guards what must be settled
- ``flags``: the same settings as flags; ``reference``: the same settings as a page
- ``job_unit``: the unit of a job's files, and errors that tell their lengths in it
"""

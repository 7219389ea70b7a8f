"""What can be set: each setting declared once, with its kind, a sentence and its default.

- ``options``: ``Job`` and its sections, checked when they are made; of those, ``sheet_options`` holds what is made
  beside the board, ``shop`` what only estimates rest on; ``value_kinds``, ``limits`` and ``schema`` are what they are
  declared with
- ``job_file``: a job from a TOML file and back; ``toml_faults`` says what keeps a file from being TOML
- ``flags``: the same settings as flags; ``reference``: the same settings as a page
- ``job_unit``: the unit of a job's files, and errors that tell their lengths in it
"""

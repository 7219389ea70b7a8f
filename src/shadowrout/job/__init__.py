"""What can be set: each setting declared once, with its kind, a sentence and its default.

- ``options``: ``Job`` and its sections; ``value_kinds`` and ``schema`` are what they are declared with
- ``job_file``: a job from a TOML file and back; ``toml_faults`` says what keeps a file from being TOML
- ``settled_boards``: what a job leaves open about its boards; ``settled`` guards what must be settled
- ``flags``: the same settings as flags; ``reference``: the same settings as a page
- ``job_unit``: the unit of a job's files, and errors that tell their lengths in it
"""

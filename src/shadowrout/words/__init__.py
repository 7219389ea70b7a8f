"""What people read and write: lengths and sizes, tables of text, colours, cautions, how far the work is.

- ``units``: lengths and sizes as people write them, read to millimetres and written in the job's unit
- ``wording``, ``lengths``: figures and lengths as they stand on a page
- ``columns``: a table as text
- ``colours``: the palette that every picture and drawing takes its colours from
- ``cautions``: what README, job sheet and demo say before anything is cut
- ``progress``: how a step tells how far the work is, and how a terminal shows it
"""

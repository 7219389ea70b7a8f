"""What people read and write: lengths and sizes, sentences, tables of text, colours, cautions, how far the work is.

- ``units``: lengths and sizes as people write them, read to millimetres
- ``lengths``: how a length is written to a job file, in a message, on a drawing, on a sheet and in its tables
- ``sentences``: sentences that hold their lengths as values and are told in the reader's unit
- ``wording``: amounts, counts, times and shares as they stand on a sheet
- ``columns``: a table as text
- ``colours``: the palette that every picture and drawing takes its colours from
- ``cautions``: what README, job sheet and demo say before anything is cut
- ``program``: what the program calls itself
- ``progress``: how a step tells how far the work is, and how a terminal shows it
- ``showing``: text as a terminal or a page may show it; ``terminal``: the one way in which words reach one
"""

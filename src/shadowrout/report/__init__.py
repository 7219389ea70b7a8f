"""What is said of a finished job.

- ``figures``: all that is counted and measured, as typed values
- ``scope``: the kinds of work that the files of a job are for
- ``look``: the finished plaque before it is made
- ``jobsheet``: the printable page for the bench
- ``closing``: the table and words at a command's end
"""

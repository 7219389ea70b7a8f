"""Everything that is counted and measured of a job: typed, measured once, read by all who tell of it.

Each subject has a module with its frozen dataclasses and the functions that measure them; ``job_figures`` puts them
together, ``figures_json`` writes them and reads them back.
"""

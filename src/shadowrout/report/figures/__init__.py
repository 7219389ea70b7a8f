"""Everything that is counted and measured of a job: typed, measured once, read by all who tell of it.

Each subject has a module with its frozen dataclasses and the functions that measure them:

- ``outline_figures``, ``width_figures``, ``pocket_figures``, ``stroke_figures``, ``fragile_figures``: of the carving
- ``register_figures``, ``stencil_figures``, ``template_figures``, ``pattern_figures``, ``stock_figures``: beside it
- ``written_figures``: of the files themselves, by which a change can be told
- ``amounts``, ``boards``, ``times``, ``hours_figures``: of the work and what it takes; ``woods``: what boards weigh

``job_figures`` puts them together, ``figures_json`` writes them and reads them back, ``precision`` rounds them.
"""

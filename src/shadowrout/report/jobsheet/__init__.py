"""The job sheet: one printable page over all plaques, for the bench.

- ``page``: ``job_sheet``, the page, whose shape is that of ``jobsheet.html``
- ``all_plaques``, ``steps``, ``stock_section``: what is told once for the job
- ``sections``, ``fragile_section``, ``beside_sections``: of each plaque; ``tables``: what sections are made of
- ``embedded``: pictures inside the page
"""

"""The job sheet: one printable page over all plaques, for the bench.

- ``page``: ``job_sheet``, the page, whose shape is that of ``jobsheet.html``
- ``all_plaques``, ``steps``: what is told once for the job; ``sections``, ``parts``: of each plaque
- ``fragile_section``, ``stock_section``: of one subject each; ``tables``: what sections are made of
- ``embedded``: pictures inside the page
"""

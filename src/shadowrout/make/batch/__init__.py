"""Many orders, each a job file with a folder of results of its own, made by several processes at a time.

- ``orders``: which there are; ``batch_run``: make them; ``summary``: what became of each and what to fetch
"""

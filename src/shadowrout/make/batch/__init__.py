"""Many orders, each a job file with a folder of results of its own, made by several processes at a time.

- ``orders``: which there are; ``batch_run``: make them; ``summary``: what became of each
- ``one_order``: one of them, in a process; ``record``: what it was made from, so that it is made once
- ``shopping``: what to fetch for all, by their ``order_numbers``
"""

"""Fitting: outlines of many short segments become few lines and circular arcs within a tolerance.

The tolerance is a contract. Every result is measured to its true arcs, both ways, and rings are made so that
none crosses itself or another; what can't be kept raises PromiseError.

- ``fitting``: ``fit_region`` for rings, ``fit_open`` for lines
"""

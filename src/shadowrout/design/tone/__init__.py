"""Which parts of a picture become shadow: one module a method, and ``choosing``, which takes one.

A tone is a field of numbers and not a picture of black and white: its zero level is the shadow's edge, so that an
outline can be drawn finer than the pixels. All lengths are millimetres on the wood, so that every plaque size
gets a design of its own.
"""

"""Which parts of a picture become shadow: one module a method, and one that chooses.

A tone is a field of numbers and not a picture of black and white: its zero level is the shadow's edge, so that an
outline can be drawn finer than the pixels. All lengths are millimetres on the wood, so that every plaque size
gets a design of its own.
"""

from __future__ import annotations

from shadowrout.tone.choosing import METHODS, Tone, choose_dark, choose_method, two_tone, within_reach

__all__ = ["METHODS", "Tone", "choose_dark", "choose_method", "two_tone", "within_reach"]

"""Pictures from any file: decoded safely, upright, cropped, as lightness.

- ``reading``: ``read`` and ``size_of``, any file to a ``Photo``
- ``photo``: ``Photo``, lightness of every pixel, and its resampling
- ``touch_up``: what was drawn over a picture
- ``subject``: the subject told apart from its background, which is dropped or faded
"""

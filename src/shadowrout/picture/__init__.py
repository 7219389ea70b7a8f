"""Pictures from any file: decoded safely, upright, cropped, as lightness.

- ``pictures``: ``read_pictures``, the pictures of a job made ready for their tone
- ``reading``: ``read`` and ``size_of``, any file to a ``Photo``
- ``photo``: ``Photo``, lightness of every pixel, and its resampling
- ``touch_up``: what was drawn over a picture
- ``subject``: the subject told apart from its background, which is dropped or faded

A file goes through ``opening``, where ``picture_files`` judges it and ``decoders`` or ``floats`` read its header. Then
``upright`` says where the crop lies, ``pixels`` averages it, ``srgb`` or ``deep_grey`` says what its numbers mean, and
``lightness`` is what comes of them.
"""

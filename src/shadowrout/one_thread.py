"""What keeps a process among several to one thread."""

from __future__ import annotations

ONE_THREAD = dict.fromkeys(
    ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "OPENCV_FOR_THREADS_NUM"), "1"
)
"""What such a process has in its environment before it loads the libraries.

They would else start a thread for each processor in every process.
"""

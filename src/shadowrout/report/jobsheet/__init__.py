"""The job sheet: one printable page over all plaques, for the bench. ``page`` makes it."""

"""What the machine roughs, what the hand cuts with the V tool, how deep, and what sanding will leave.

- ``plaque_carving``: ``carve_plaque``, one plaque's design to a plan and its paths
- ``plan``: ``plan_carving``, a design's shadow to a ``Plan``; ``carve_paths``: what is cut as lines and arcs
- ``pockets``, ``v_lines``, ``flow_lines``: what is cut; ``v_line_paths``: V lines as few pieces; ``streams``: the field
  of directions that flow lines follow
- ``settled_tools``: what a job leaves open about its tools
- ``depths``: how deep a pocket or a V line goes, and which cutters make sense beside each other
- ``worth``: what a V line is worth to the picture; ``trimming``: what is left out to save work
- ``sanding``: what sanding leaves; ``fragile_light``: the light that may break off

``smoothing`` makes strokes easy to follow by hand, ``cut_pieces`` and ``cuts`` take all that is cut together, and
``canvas`` is a raster for rough questions.
"""

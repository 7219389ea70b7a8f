"""What the machine roughs, what the hand cuts with the V tool, how deep, and what sanding will leave.

- ``plan``: ``plan_carving``, a design's shadow to a ``Plan``
- ``pockets``, ``v_lines``, ``flow_lines``: what is cut; ``v_line_paths``: V lines as few pieces
- ``settled_tools``: what a job leaves open about its tools
- ``depths``: how deep a pocket or a V line goes, and which cutters make sense beside each other
- ``sanding``: what sanding leaves; ``fragile_light``: the light that may break off
"""

"""Lines right for their size: ``right_width`` widens those below the finest line where there is room, or drops them."""

"""The finished plaque before it is made: cut, painted, sanded, and looked at."""

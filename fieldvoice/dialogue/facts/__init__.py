"""Facts of the place and the equipment: told at the start or at any time, and asked for."""

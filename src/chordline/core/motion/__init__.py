"""A body through time: filtered landmarks, seconds in shape, sway."""

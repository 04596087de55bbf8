"""Plane geometry of points, angles, chords, curves and one camera."""

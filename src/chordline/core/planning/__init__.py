"""The work that fits: what a squad does, when, at which station, within time and people."""

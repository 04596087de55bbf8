"""`chordline doctor` and `chordline weights`: is everything there?"""

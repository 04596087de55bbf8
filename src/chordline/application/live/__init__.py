"""The live line: a camera beside the mat, and the line and its angles back on the screen.

Nothing that is seen here is kept: pictures live in memory for as long as they are looked at.
"""

"""Its place puts this folder on the import path: helpers that several folders use stand here.

Random examples are the same at every run.
"""

from hypothesis import settings

settings.register_profile("repeatable", derandomize=True, deadline=None)
settings.load_profile("repeatable")

"""Pictures and videos from outside, decoded in processes that may die."""

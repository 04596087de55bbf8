"""The JSON interface: the same actions as the pages, for scripts and for the pages themselves."""

"""One migration a module; a released one is never changed."""

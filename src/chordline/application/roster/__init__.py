"""The roster as a file: read, looked at line by line, taken in, written out."""

"""What sheets of training say, already in the reader's language."""

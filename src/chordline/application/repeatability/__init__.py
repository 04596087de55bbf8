"""How much of a difference is nothing: the club's own study of marks and of takes."""

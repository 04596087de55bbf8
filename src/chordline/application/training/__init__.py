"""The squad's training: its plan, tonight's stations, what was done, the ladder of skills."""

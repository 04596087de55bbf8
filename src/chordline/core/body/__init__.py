"""The gymnast's body as landmarks, and what one side view tells about it."""

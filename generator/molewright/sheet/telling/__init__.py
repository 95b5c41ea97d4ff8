"""What was done in the laboratory, told in sentences: one function an operation, and the story that they add to."""

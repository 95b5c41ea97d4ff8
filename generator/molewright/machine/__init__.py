"""The machine: files whole or not at all, the terminal, where things lie, bounded reading. Knows no chemistry."""

"""How the quantities of a procedure hang together: kinds, variables, relations. Nothing is solved here."""

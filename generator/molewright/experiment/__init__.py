"""What is done in the laboratory and what hangs together: procedure, kinds of quantity, relations, identity. Solves nothing."""

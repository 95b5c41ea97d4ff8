"""Pages on this machine, through which a teacher gives the same orders as by the command. Holds no chemistry and decides nothing."""

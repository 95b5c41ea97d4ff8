"""Parts on curves: pH, temperature and conductivity along a titration, indicators and their colours."""

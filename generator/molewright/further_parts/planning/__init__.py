"""Parts that plan the next experiment; the bench proves every planned number."""

"""Parts that have a scale read from a picture."""

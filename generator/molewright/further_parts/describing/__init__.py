"""Parts that have something described step by step: a standard solution, a portion, a titration."""

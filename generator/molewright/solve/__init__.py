"""A described experiment comes in; a worked question goes out, or what is missing."""

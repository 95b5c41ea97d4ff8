"""The banks: definitions that check themselves, and the reader that finds them in files."""

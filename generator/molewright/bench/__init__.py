"""The experiment performed forward on amounts of substance, and the burette readings that it would give."""

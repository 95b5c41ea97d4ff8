"""Figures come in; form-neutral pictures, lists of strokes and words in points, go out. Knows no output and no typeface."""

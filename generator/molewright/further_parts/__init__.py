"""Parts that are not the calculation itself: a checked calculation comes in; FurtherParts go out, worded by the sheet."""

"""Parts of practical judgement after a calculation: a checked calculation goes in, ExtraParts come out, worded by the sheet."""

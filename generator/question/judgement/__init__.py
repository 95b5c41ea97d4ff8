"""Parts of practical judgement that come after a calculation: a checked calculation goes in, ExtraParts come out. Nothing is worded here."""

"""What a sheet is made of: a closed set of frozen nodes. Knows no output and draws nothing."""

"""The version of the program, as `--version` prints it and every record tells it."""

VERSION = "0.3.0.dev0"

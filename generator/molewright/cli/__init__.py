"""The command `molewright`: one module a command, which parses, calls one function and prints. Knows no chemistry."""

from molewright.cli.command import build_parser, main

__all__ = ["build_parser", "main"]

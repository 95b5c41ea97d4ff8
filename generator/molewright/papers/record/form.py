"""The form of a record, shared by its writer and its reader: one JSON document a line, with a schema number on the first.

The first line tells which paper it is and how it was made. Lines of slips tell what is said of them, each slip once in a file, before
the first paper that names it. Every other line is one paper. `templates/schemas/record.schema.json` describes a line; records of
version 0.2.0 are one document with all papers in it, and have no schema number.
"""

from __future__ import annotations

SCHEMA = 2
SUFFIX = "-record.jsonl"
PATTERNS = ("*-record*.jsonl", "*record.json")  # how the files of records are called, and were in 0.2.0
MOST_PAPERS = 500  # of a file
MOST_LINE = 4_000_000  # bytes
MOST_LETTERS = 600  # of a text that is printed
TEACHERS = "own words"  # the kind of part that a question in a teacher's own words has

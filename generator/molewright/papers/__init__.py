"""The papers of an order: its questions, its code, its record, its files."""

"""The record of a paper: written beside it, read again to mark it. Its writer and its reader stand side by side."""

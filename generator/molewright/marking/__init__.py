"""Returned answers come in; marks, slips and the next practice go out. The room behind the doors `mark` and `practise`."""

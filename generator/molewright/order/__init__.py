"""What a person asks for, as values: the order and the class."""

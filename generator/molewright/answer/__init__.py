"""What is right, and what an answer earns: types of answers, the one rule of the accepted range, the judge. Reads no text."""

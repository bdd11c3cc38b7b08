"""What is watched: the line as lengths to draw, and where its cans and gaps are."""

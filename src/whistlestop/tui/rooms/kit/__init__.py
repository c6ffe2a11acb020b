"""What is owned, what is left out for a while, and both in a few keys."""

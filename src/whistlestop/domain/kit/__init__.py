"""What is owned, and what of it a circuit needs."""

"""What is wished of a new circuit and of the weeks ahead."""

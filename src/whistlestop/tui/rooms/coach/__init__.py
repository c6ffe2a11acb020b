"""The next step and the weeks ahead."""

"""The station sheet: what will happen today, and today's changes."""

"""The builder room: wishes in, circuits out."""

"""The sounds room: hear each tone, set level and offset."""

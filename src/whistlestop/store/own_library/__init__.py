"""The athlete's own stations and drills."""

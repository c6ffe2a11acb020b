"""Stations and drills to look up, with their cards."""

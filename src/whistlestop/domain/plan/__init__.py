"""The compiled plan: segments in time, cues, parts, and two people on one clock."""

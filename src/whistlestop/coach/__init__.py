"""What next: one change with its reason, the weeks, and variety.

Every answer is a pure function of records and facts handed in; nothing here reads a
file or a clock, and nothing here judges health.
"""

"""The log, its entries one by one, and its plots."""

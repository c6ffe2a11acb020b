"""Small parts that rooms are made of: safe text, pages of rows, the two edge lines."""

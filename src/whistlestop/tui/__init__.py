"""The screens; the only package that knows textual and rich."""

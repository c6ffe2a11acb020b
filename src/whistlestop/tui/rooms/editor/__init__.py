"""The editor: a circuit made and changed, step by step."""

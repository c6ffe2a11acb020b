"""The circuits room: what there is to do, and what was left unfinished."""

"""Further audio libraries for the sound helper, each imported only on request."""

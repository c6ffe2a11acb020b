"""Text and TOML from anywhere: bounded, parsed and located."""

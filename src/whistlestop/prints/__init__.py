"""The station sheet and the wall cards on paper, and what a sheet says anywhere."""

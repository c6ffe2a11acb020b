"""The frame that all rooms share: page, key line, choosing, asking, filtering."""

"""The diary: what is no session, and later amendments."""

"""The lead's evening in a terminal."""

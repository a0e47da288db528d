"""How facts are told apart into pipes, what state each is in, and what a question asks for: pure, no spaCy."""

"""Work on other machines, without the engine that carries it: where they are met, and what they do."""

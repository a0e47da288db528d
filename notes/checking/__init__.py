"""The checks: their catalogue, the life of a follow-up, and the judgements that open one. Pure."""

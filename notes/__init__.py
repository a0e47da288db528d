"""The memory of a heating and plumbing job: hearing, understanding, filing, checking, tracing."""

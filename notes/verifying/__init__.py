"""What `verify` looks at, a file a matter."""

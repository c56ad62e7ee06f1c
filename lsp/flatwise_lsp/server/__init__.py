"""The wire: the only part that knows the protocol."""

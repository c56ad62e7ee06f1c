"""The wire: messages in, messages out."""

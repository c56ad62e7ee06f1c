"""The command line and its commands."""

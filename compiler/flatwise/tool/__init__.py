"""The command line and what it runs."""

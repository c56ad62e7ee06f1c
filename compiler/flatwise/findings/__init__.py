"""Findings that a stage makes while it works: one code a file, its page and its maker."""

"""Flatwise: a panel as text, flattened by a program that has been proven."""

__version__ = "1.1.0"

"""A setup as a program in RS274/NGC."""

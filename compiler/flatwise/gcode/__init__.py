"""Write a setup as a program in RS274/NGC."""

"""Seat: how the panel rests on bed and leaves, which leaves to lay, whether it rocks, and how it bends."""

from flatwise.seat.seating import seat

__all__ = ["seat"]

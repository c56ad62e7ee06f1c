"""Seat: how the panel rests on bed and leaves, which leaves to lay, whether it rocks, and how it bends."""

from flatwise.seat.seating import seat, seating_choices

__all__ = ["seat", "seating_choices"]

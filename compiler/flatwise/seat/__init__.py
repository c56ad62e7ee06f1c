"""How the panel lies: rest on bed and leaves, rock, the leaves that leave the most, bending."""

from flatwise.seat.seating import seat

__all__ = ["seat"]

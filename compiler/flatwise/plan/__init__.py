"""Plan: from a seated panel to whole setups, every pass and every move of them.

Heights are worked from the last plane upward, rows are spread evenly over the face, and what a job writes is
taken as written: judging it is the business of `flatwise.check`.
"""

from flatwise.plan.sequence import plan

__all__ = ["plan"]

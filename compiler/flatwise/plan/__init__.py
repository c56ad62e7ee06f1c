"""Plan: from a seated panel to its setups, with every pass and every move.

Heights are worked out from the last plane upward, and rows are spread evenly over the face.  What a job writes is taken
as written; `flatwise.check` judges it.
"""

from flatwise.plan.sequence import falls_short, plan
from flatwise.plan.uncertainty import never_within

__all__ = ["falls_short", "never_within", "plan"]

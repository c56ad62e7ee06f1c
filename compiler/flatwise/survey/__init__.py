"""What the rule, the calipers, the feelers and the probe said, made into two faces and how far they may be off."""

from flatwise.survey.after import Measured, measured
from flatwise.survey.faces import survey

__all__ = ["Measured", "measured", "survey"]

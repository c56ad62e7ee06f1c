"""Survey: from the readings of calipers, feelers and probe to both faces of the panel, each with its bound."""

from flatwise.survey.correction import Correction, correct
from flatwise.survey.faces import survey

__all__ = ["Correction", "correct", "survey"]

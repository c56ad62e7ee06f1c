"""The text of a job file and its tree.

The grammar knows shapes only.  The compiler knows what words mean, so nothing here imports it.
"""

from flatwise_grammar.chunks import chunk_bounds
from flatwise_grammar.layout import format_text
from flatwise_grammar.parser import parse

__all__ = ["chunk_bounds", "format_text", "parse"]

"""The text of a job file and its tree.

The grammar knows shapes only.  The compiler knows what words mean, so nothing here imports it.
"""

from flatwise_grammar.chunks import chunk_bounds
from flatwise_grammar.parser import parse
from flatwise_grammar.sound_parts import format_text

__all__ = ["chunk_bounds", "format_text", "parse"]

"""The headers of declarations, `kind name like other {`."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from flatwise.core.finding import Finding
from flatwise.core.wording import quoted
from flatwise.findings import fw001_text, fw101_unknown_word
from flatwise.model.kinds import FROM, KINDS, LIKE
from flatwise_grammar.nodes import Block, File, Name


class Header(NamedTuple):
    """A declaration as it is written, before it inherits anything."""

    kind: str
    name: Name
    joint: str
    base: Name | None
    block: Block


def headers(tree: File, findings: list[Finding]) -> Iterator[Header]:
    """Every declaration of a file whose kind and name are clear; FW001 and FW101 for the others.

    A declaration whose base is not clear is taken without a base.
    """
    for block in tree.blocks:
        header = _header(block, findings)
        if header is not None:
            yield header


def _header(block: Block, findings: list[Finding]) -> Header | None:
    kind, span = block.kind, block.head_span
    example = "job hall_bench from glued_top {" if kind == "job" else f"{kind} my_{kind} {{"
    if kind not in KINDS:
        inner = next((k for k, cls in KINDS.items() if kind in cls.model_fields), "")
        if inner and kind:
            problem = f"`{kind}` stands outside a {inner}."
            findings.append(
                Finding("FW101", problem, span, help=f"Write it inside a {inner}: `{inner} name {{ {kind} … }}`.")
            )
        else:
            findings.append(fw101_unknown_word.kind(kind, block.head[0].span if block.head else span, tuple(KINDS)))
        return None
    rest = block.head[1:]
    if not rest:
        findings.append(fw001_text.header(kind, span, f"This {kind} has no name.", example))
        return None
    name = rest[0]
    if not isinstance(name, Name) or name.text in (LIKE, FROM):
        problem = f"The name of this {kind} is not a word in lower-case letters."
        if isinstance(name, Name):
            problem = f"This {kind} has no name before `{name.text}`."
        findings.append(fw001_text.header(kind, name.span, problem, example))
        return None
    if len(rest) == 1:
        return Header(kind, name, "", None, block)
    joint = rest[1]
    joints = (LIKE, FROM) if kind == "job" else (LIKE,)
    if not isinstance(joint, Name) or joint.text not in joints:
        if isinstance(joint, Name) and joint.text == FROM:
            problem = f"`from` starts a job from a recipe; a {kind} starts `like` another {kind}."
        else:
            problem = f"After the name `{name.text}`, only {quoted(joints)} may follow."
        findings.append(fw001_text.header(kind, joint.span, problem, example))
        return Header(kind, name, "", None, block)
    if len(rest) != 3 or not isinstance(rest[2], Name):
        what = "recipe" if joint.text == FROM else kind
        problem = f"After `{joint.text}`, the name of one {what} is expected."
        findings.append(
            fw001_text.header(kind, rest[-1].span, problem, f"{kind} {name.text} {joint.text} other_{what} {{")
        )
        return Header(kind, name, "", None, block)
    return Header(kind, name, joint.text, rest[2], block)

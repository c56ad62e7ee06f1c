"""Names of declarations and parameters: where each is declared, where it is used, and renaming it everywhere."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

from flatwise.core.finding import Edit
from flatwise.model import woods
from flatwise.model.job import Job
from flatwise.model.kinds import FROM, JOINING_WORDS, KINDS, LIKE, TAKES
from flatwise_grammar.nodes import Block, Field, Item, Name, Point, Span
from flatwise_lsp.workspace.analysis import Meaning
from flatwise_lsp.workspace.phrase_trace import names_in
from flatwise_lsp.workspace.tree_search import NodePath, base_of, contains, owner_of, walk
from flatwise_lsp.workspace.view import View


class Declared(NamedTuple):
    """What a name refers to: a kind, the name, and where it is declared (None for what is built in or unknown).

    The parameters of recipes have the kind `parameter`.
    """

    kind: str
    name: str
    at: Span | None


class Mention(NamedTuple):
    """One place at which a name is written."""

    declared: Declared
    span: Span
    declares: bool


class RenameRefused(Exception):
    """Why a name can't be renamed, for the user."""


def find_mentions(meaning: Meaning, path: str) -> Iterator[Mention]:
    """Every name of a declaration or parameter in one file."""
    source = meaning.linked.loaded.sources.get(path)
    for block in source.tree.blocks if source is not None else ():
        yield from _mentions_in_block(meaning, block)


def _mentions_in_block(meaning: Meaning, block: Block, at: int | None = None) -> Iterator[Mention]:
    """The names in a declaration; with `at` only those of its header and of the line at that offset."""
    own = owner_of(block)
    if own is not None:
        yield Mention(Declared(block.kind, own.text, own.span), own.span, True)
    base = base_of(block)
    if base is not None:
        yield _use(meaning, *base)
    given = _parameters_given(meaning, block)
    taken = {name.text: name for name in parameters_of(block)} if block.kind == "recipe" else {}
    for name in taken.values():
        yield Mention(Declared("parameter", name.text, name.span), name.span, True)
    for path in walk((block,), at=at):
        if not isinstance(path.node, Field):
            continue
        word = path.node.word
        if len(path.blocks) == 1 and word.text in given:
            yield Mention(Declared("parameter", word.text, given[word.text].span), word.span, False)
        yield from _mentions_in_line(meaning, path, path.node, taken)


def _mentions_in_line(meaning: Meaning, path: NodePath, line: Field, taken: dict[str, Name]) -> Iterator[Mention]:
    if line.word.text == TAKES and taken and len(path.blocks) == 1:
        return
    parameters = set()
    for name in _names(line.items):
        if name.text in taken:
            parameters.add(name.span)
            yield Mention(Declared("parameter", name.text, taken[name.text].span), name.span, False)
    if path.shape is not None:
        for used in names_in(path.shape, line.items):
            if used.name.span not in parameters:
                yield _use(meaning, used.kind, used.name)


def _use(meaning: Meaning, kind: str, name: Name) -> Mention:
    declaration = meaning.linked.find(kind, name.text, name.span.path)
    return Mention(Declared(kind, name.text, declaration.at if declaration else None), name.span, False)


def parameters_of(block: Block) -> list[Name]:
    """The parameters that a recipe takes."""
    return [
        item for field in block.fields if field.word.text == TAKES for item in field.items if isinstance(item, Name)
    ]


def _parameters_given(meaning: Meaning, block: Block) -> dict[str, Name]:
    """The parameters, by name, of the recipe that a job is made from."""
    base = base_of(block)
    if base is None or base[0] != "recipe":
        return {}
    recipe = meaning.linked.find("recipe", base[1].text, base[1].span.path)
    return {name.text: name for name in parameters_of(recipe.block)} if recipe else {}


def _names(items: tuple[Item, ...]) -> Iterator[Name]:
    for item in items:
        if isinstance(item, Name):
            yield item
        elif isinstance(item, Point):
            yield from _names((*item.x, *item.y))


# -- requests


def mention_at(view: View, offset: int) -> Mention | None:
    """The name at an offset."""
    for block in view.tree.blocks:
        if contains(block.span, offset):
            for mention in _mentions_in_block(view.meaning, block, offset):
                if contains(mention.span, offset):
                    return mention
    return None


def find_definition(view: View, offset: int) -> Span | None:
    """Where the name at an offset is declared."""
    mention = mention_at(view, offset)
    return mention.declared.at if mention else None


def find_highlights(view: View, offset: int) -> list[Mention]:
    """The mentions of the name at an offset in this document."""
    mention = mention_at(view, offset)
    if mention is None:
        return []
    return [other for other in find_mentions(view.meaning, view.name) if other.declared == mention.declared]


def find_references(view: View, offset: int) -> list[Mention]:
    """The mentions of the name at an offset in the whole workspace, its declaration first."""
    mention = mention_at(view, offset)
    return _everywhere(view, mention.declared) if mention is not None else []


def _everywhere(view: View, declared: Declared) -> list[Mention]:
    meaning = view.everything
    found = [
        other
        for path, source in meaning.linked.loaded.sources.items()
        if declared.name in source.text
        for other in find_mentions(meaning, path)
        if other.declared == declared
    ]
    return sorted(found, key=lambda mention: (not mention.declares, mention.span))


# -- renaming


def renamable_at(view: View, offset: int) -> Mention:
    """The name at an offset.  Raises RenameRefused where there is none that can be renamed."""
    mention = mention_at(view, offset)
    if mention is None:
        raise RenameRefused("There is no name of a declaration here.")
    kind, name, at = mention.declared
    if at is None:
        built_in = kind == "wood" and name in woods.NAMES
        raise RenameRefused(f"The {kind} `{name}` is {'built in' if built_in else 'not declared anywhere'}.")
    return mention


def rename(view: View, offset: int, new: str) -> list[Edit]:
    """The edits that rename the name at an offset in all files.  Raises RenameRefused on any conflict."""
    declared = renamable_at(view, offset).declared
    if re.fullmatch(r"[a-z][a-z0-9_]*", new) is None:
        raise RenameRefused(
            f"`{new}` is not a name: a name has small letters, digits and `_`, and begins with a letter."
        )
    if new == declared.name:
        return []
    if declared.kind == "parameter":
        _check_parameter(view, declared, new)
    else:
        _check_declaration(view, declared, new)
    return [Edit(mention.span, new) for mention in _everywhere(view, declared)]


def _check_declaration(view: View, declared: Declared, new: str) -> None:
    if new in (LIKE, FROM):
        raise RenameRefused(f"`{new}` is a word of headers, so a declaration can't have that name.")
    if declared.kind == "wood" and (new in woods.NAMES or declared.name in woods.NAMES):
        built_in = new if new in woods.NAMES else declared.name
        raise RenameRefused(f"`{built_in}` is the name of a built-in wood, and a declaration of that name changes it.")
    for path, scope in view.everything.linked.scopes.items():
        names = scope.get(declared.kind, {})
        old = names.get(declared.name)
        if old is not None and old.at == declared.at and new in names:
            raise RenameRefused(f"{path} already has a {declared.kind} `{new}`.")


def _check_parameter(view: View, declared: Declared, new: str) -> None:
    if new in JOINING_WORDS or new in Job.model_fields or new in KINDS:
        raise RenameRefused(f"`{new}` is a word of the language, so a parameter can't have that name.")
    at = declared.at
    source = view.everything.linked.loaded.sources.get(at.path) if at is not None else None
    if at is None or source is None:
        return
    for block in source.tree.blocks:
        if contains(block.span, at.start):
            lines = (path.node for path in walk((block,)) if isinstance(path.node, Field))
            if new in {name.text for line in lines for name in _names(line.items)}:
                raise RenameRefused(f"The recipe already has the word `{new}`, which would become the parameter.")

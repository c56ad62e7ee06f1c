"""Names: where one is declared, where it is used, and changing it everywhere at once."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

from flatwise.core.finding import Edit
from flatwise.language.link import JOINTS
from flatwise.model import woods
from flatwise.model.job import Job
from flatwise.model.kinds import KINDS
from flatwise_grammar.nodes import Block, Field, Item, Name, Point, Span
from flatwise_lsp.features.phrases import names_in
from flatwise_lsp.workspace.analysis import Meaning
from flatwise_lsp.workspace.view import Spot, View, base_of, inside, owner_of, walk


class Meant(NamedTuple):
    """What a name means: the kind, the name, and the span of its declaration (None for what is built in).

    The kind `parameter` is a parameter of a recipe.
    """

    kind: str
    name: str
    at: Span | None


class Mention(NamedTuple):
    """One place where a name stands."""

    meant: Meant
    span: Span
    declares: bool


class Refused(Exception):
    """A renaming that can't be done; the text says why."""


def mentions(meaning: Meaning, path: str) -> Iterator[Mention]:
    """Every name of a declaration or parameter in one file."""
    source = meaning.linked.loaded.sources.get(path)
    if source is None:
        return
    for block in source.tree.blocks:
        yield from _in_block(meaning, block)


def _in_block(meaning: Meaning, block: Block, at: int | None = None) -> Iterator[Mention]:
    """The names in a declaration; with `at` only those of its header and of the line at that offset."""
    own = owner_of(block)
    if own is not None:
        yield Mention(Meant(block.kind, own.text, own.span), own.span, True)
    base = base_of(block)
    if base is not None:
        yield _use(meaning, base[0], base[1])
    given = _given(meaning, block)
    takes = {name.text: name for name in takes_of(block)} if block.kind == "recipe" else {}
    for name in takes.values():
        yield Mention(Meant("parameter", name.text, name.span), name.span, True)
    for spot in walk((block,), at=at):
        if not isinstance(spot.node, Field):
            continue
        field = spot.node
        if len(spot.blocks) == 1 and field.word.text in given:
            declared = given[field.word.text].span
            yield Mention(Meant("parameter", field.word.text, declared), field.word.span, False)
        yield from _in_line(meaning, spot, field, takes)


def _in_line(meaning: Meaning, spot: Spot, field: Field, takes: dict[str, Name]) -> Iterator[Mention]:
    if field.word.text == "takes" and takes and len(spot.blocks) == 1:
        return
    parameters = set()
    for item in _names(field.items):
        if item.text in takes:
            parameters.add(item.span)
            yield Mention(Meant("parameter", item.text, takes[item.text].span), item.span, False)
    if spot.shape is not None:
        for used in names_in(spot.shape, field.items):
            if used.name.span not in parameters:
                yield _use(meaning, used.kind, used.name)


def _use(meaning: Meaning, kind: str, name: Name) -> Mention:
    declaration = meaning.linked.find(kind, name.text, name.span.path)
    return Mention(Meant(kind, name.text, declaration.at if declaration else None), name.span, False)


def takes_of(block: Block) -> list[Name]:
    """The parameters that a recipe takes."""
    return [
        item for field in block.fields if field.word.text == "takes" for item in field.items if isinstance(item, Name)
    ]


def _given(meaning: Meaning, block: Block) -> dict[str, Name]:
    """The parameters of the recipe that a job is made from."""
    base = base_of(block)
    if base is None or base[0] != "recipe":
        return {}
    recipe = meaning.linked.find("recipe", base[1].text, base[1].span.path)
    return {name.text: name for name in takes_of(recipe.block)} if recipe else {}


def _names(items: tuple[Item, ...]) -> Iterator[Name]:
    for item in items:
        if isinstance(item, Name):
            yield item
        elif isinstance(item, Point):
            yield from _names((*item.x, *item.y))


# -- what an editor asks ---------------------------------------------------------------------------------------------


def meant_at(view: View, offset: int) -> Mention | None:
    """The name at an offset."""
    for block in view.tree.blocks:
        if inside(block.span, offset):
            for mention in _in_block(view.meaning, block, offset):
                if inside(mention.span, offset):
                    return mention
    return None


def definition(view: View, offset: int) -> Span | None:
    """Where the name at an offset is declared."""
    mention = meant_at(view, offset)
    return mention.meant.at if mention else None


def highlights(view: View, offset: int) -> list[Mention]:
    """The places of this document where the same name stands."""
    mention = meant_at(view, offset)
    if mention is None:
        return []
    return [other for other in mentions(view.meaning, view.name) if other.meant == mention.meant]


def references(view: View, offset: int) -> list[Mention]:
    """All places of the workspace where the same name stands, its declaration first."""
    mention = meant_at(view, offset)
    return _everywhere(view, mention.meant) if mention is not None else []


def _everywhere(view: View, meant: Meant) -> list[Mention]:
    meaning = view.everything
    found = [
        other
        for path, source in meaning.linked.loaded.sources.items()
        if meant.name in source.text
        for other in mentions(meaning, path)
        if other.meant == meant
    ]
    return sorted(found, key=lambda mention: (not mention.declares, mention.span))


def renamable(view: View, offset: int) -> Mention:
    """The name at an offset, if it can be changed.  Raises Refused where it can't."""
    mention = meant_at(view, offset)
    if mention is None:
        raise Refused("There is no name of a declaration here.")
    meant = mention.meant
    if meant.at is None:
        built_in = meant.kind == "wood" and meant.name in woods.NAMES
        why = "is built in, so it has no place where it could be renamed" if built_in else "is not declared anywhere"
        raise Refused(f"The {meant.kind} `{meant.name}` {why}.")
    return mention


def rename(view: View, offset: int, new: str) -> list[Edit]:
    """The edits that give the name at an offset another name in all files.  Raises Refused on any clash."""
    meant = renamable(view, offset).meant
    if re.fullmatch(r"[a-z][a-z0-9_]*", new) is None:
        raise Refused(f"`{new}` is no name: a name is small letters, digits and `_`, and begins with a letter.")
    if new == meant.name:
        return []
    _refuse_clash(view, meant, new)
    return [Edit(mention.span, new) for mention in _everywhere(view, meant)]


def _refuse_clash(view: View, meant: Meant, new: str) -> None:
    linked = view.everything.linked
    if meant.kind == "parameter":
        _refuse_parameter(view, meant, new)
        return
    if new in ("like", "from"):
        raise Refused(f"`{new}` stands between two names in a header, so it can't be one.")
    if meant.kind == "wood" and (new in woods.NAMES or meant.name in woods.NAMES):
        built_in = new if new in woods.NAMES else meant.name
        raise Refused(f"`{built_in}` is a built-in wood: a declaration of that name changes it, another name does not.")
    for path, scope in linked.scopes.items():
        names = scope.get(meant.kind, {})
        old, other = names.get(meant.name), names.get(new)
        if old is not None and old.at == meant.at and other is not None:
            raise Refused(f"{path} already sees a {meant.kind} `{new}`.")


def _refuse_parameter(view: View, meant: Meant, new: str) -> None:
    if new in JOINTS or new in Job.model_fields or new in KINDS:
        raise Refused(f"`{new}` is a word of the language, so a parameter can't be called that.")
    at = meant.at
    source = view.everything.linked.loaded.sources.get(at.path) if at is not None else None
    if at is None or source is None:
        return
    for block in source.tree.blocks:
        if inside(block.span, at.start):
            lines = (spot.node for spot in walk((block,)) if isinstance(spot.node, Field))
            used = {name.text for line in lines for name in _names(line.items)}
            if new in used:
                raise Refused(f"`{new}` already stands in the recipe and would then mean the parameter.")

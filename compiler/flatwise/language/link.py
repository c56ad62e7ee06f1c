"""Link: which declaration a name means, and the whole body of each declaration after `like`, `from` and `takes`.

Everything here happens on the tree.  A part that is inherited keeps its span, and a name is looked up in the file of
its span: names in a recipe mean what they mean in the recipe's file, names in a job what they mean in the job's.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from typing import NamedTuple

from flatwise.core.finding import Finding, Findings
from flatwise.findings import (
    fw102_unknown_name,
    fw103_declared_twice,
    fw104_wrong_kind,
    fw107_out_of_bounds,
    fw108_parameter,
)
from flatwise.language.headers import Header, headers
from flatwise.model import woods
from flatwise.model.job import Job
from flatwise.model.kinds import FROM, JOINING_WORDS, KINDS, LONGEST_NAME, TAKES
from flatwise.sources.load import Loaded, Source
from flatwise_grammar.nodes import Block, Field, Item, Mark, Name, Point, Span

#: The words and values that the declarations of one file may take over: so many, or so many for each character of the
#: file, whichever is more.  Three hundred jobs from one recipe take sixty thousand.
MOST_TAKEN, TAKEN_EACH = 200_000, 10
#: a file of more jobs than this would take longer than anyone waits
MOST_JOBS = 300


class Declaration(NamedTuple):
    """A declaration with everything that it inherits.

    `at` is the span of its name.  `blanks` are parameters without a value; a line with one of them cannot be read.
    "*" among them says that the declaration it starts from is unknown.
    """

    kind: str
    name: str
    block: Block
    at: Span
    body: tuple[Field | Block, ...]
    blanks: frozenset[str] = frozenset()
    #: the built-in wood that supplies the values which the body leaves out
    built_in: str = ""

    @property
    def path(self) -> str:
        return self.at.path


#: kind → name → declaration, as seen from one file
Scope = Mapping[str, Mapping[str, Declaration]]


class Linked(NamedTuple):
    """All declarations in the order of their files, and those that each file can see.

    The jobs at the spans `too_many` are beyond the most that their file may have, and are not read.
    """

    loaded: Loaded
    declarations: tuple[Declaration, ...]
    scopes: Mapping[str, Scope]
    too_many: frozenset[Span] = frozenset()

    def find(self, kind: str, name: str, path: str) -> Declaration | None:
        """The declaration that `name` means in the file `path`."""
        return self.scopes.get(path, {}).get(kind, {}).get(name)

    def known(self, kind: str, path: str) -> Collection[str]:
        """The names of a kind that are visible from a file, those of built-in woods included."""
        names = self.scopes.get(path, {}).get(kind, {})
        return (*names, *woods.NAMES) if kind == "wood" else names


class _Linker:
    def __init__(self, findings: list[Finding]) -> None:
        self.scopes: dict[str, dict[str, dict[str, Header]]] = {}
        self.findings = findings
        #: where a kind and name is first declared, in whatever file
        self.places: dict[tuple[str, str], Span] = {}
        self.bodies: dict[Span, tuple[Field | Block, ...]] = {}
        self.blanks: dict[Span, frozenset[str]] = {}
        self.woods: dict[Span, str] = {}
        self.takes: dict[Span, Mapping[str, Name]] = {}
        #: the words and values that the declarations of each file may still take over
        self.left = Counter[str]()


def link(loaded: Loaded) -> tuple[Linked, Findings]:
    """Resolve names, inheritance and recipes of everything that was loaded."""
    findings: list[Finding] = []
    own = {name: list(headers(source.tree, findings)) for name, source in loaded.sources.items()}
    linker = _Linker(findings)
    every = [header for found in own.values() for header in found]
    for header in every:
        linker.places.setdefault((header.kind, header.name.text), header.name.span)
    for name, source in loaded.sources.items():
        linker.scopes[name] = _scope(source, own, findings)
        linker.left[name] = max(MOST_TAKEN, TAKEN_EACH * len(source.text))
    _job_names(loaded, own, findings)
    too_many = _too_many(loaded, own, findings)
    made = {
        header.name.span: Declaration(
            header.kind,
            header.name.text,
            header.block,
            header.name.span,
            _body(linker, header),
            linker.blanks.get(header.name.span, frozenset()),
            linker.woods.get(header.name.span, ""),
        )
        for header in every
    }
    scopes = {
        path: {kind: {name: made[header.name.span] for name, header in names.items()} for kind, names in scope.items()}
        for path, scope in linker.scopes.items()
    }
    return Linked(loaded, tuple(made.values()), scopes, too_many), loaded.certain(dict.fromkeys(findings))


# -- scopes ------------------------------------------------------------------------------------------------------


def _scope(source: Source, own: Mapping[str, list[Header]], findings: list[Finding]) -> dict[str, dict[str, Header]]:
    """The declarations that one file can see: those of the files that it uses, and its own."""
    scope: dict[str, dict[str, Header]] = {kind: {} for kind in KINDS}
    used = [path for path, _ in source.uses if path != source.name and path in own]
    for path in (*used, source.name):
        for header in own[path]:
            names = scope[header.kind]
            first = names.get(header.name.text)
            if first is None:
                names[header.name.text] = header
            else:
                findings.append(
                    fw103_declared_twice.declaration(header.kind, header.name.text, header.name.span, first.name.span)
                )
    return scope


def _job_names(loaded: Loaded, own: Mapping[str, list[Header]], findings: list[Finding]) -> None:
    """FW103 for jobs and batches of one name, which would overwrite each other's programs; FW107 for too long a one."""
    first: dict[str, Header] = {}
    for path in loaded.asked:
        for header in own.get(path, ()):
            if header.kind not in ("job", "batch"):
                continue
            earlier, name = first.setdefault(header.name.text, header), header.name
            if len(name.text) > LONGEST_NAME:
                findings.append(fw107_out_of_bounds.long_name(header.kind, name.text, name.span, LONGEST_NAME))
            if earlier.kind != header.kind:
                findings.append(fw103_declared_twice.job_and_batch(name.text, name.span, earlier.name.span))
            elif earlier is not header:
                findings.append(fw103_declared_twice.declaration(earlier.kind, name.text, name.span, earlier.name.span))


def _too_many(loaded: Loaded, own: Mapping[str, list[Header]], findings: list[Finding]) -> frozenset[Span]:
    """FW107 for files of too many jobs; the names of those beyond the most."""
    beyond: list[Span] = []
    for path in loaded.asked:
        jobs = [header.name.span for header in own.get(path, ()) if header.kind == "job"]
        if len(jobs) > MOST_JOBS:
            findings.append(fw107_out_of_bounds.many_jobs(len(jobs), jobs[MOST_JOBS], MOST_JOBS))
            beyond += jobs[MOST_JOBS:]
    return frozenset(beyond)


# -- bodies ------------------------------------------------------------------------------------------------------


def _body(linker: _Linker, header: Header) -> tuple[Field | Block, ...]:
    """The body of a declaration with everything that it inherits; the bodies that it starts from are made first."""
    chain: dict[Span, Header] = {}
    step: Header | None = header
    while step is not None and step.name.span not in linker.bodies:
        if step.name.span in chain:
            circle = list(chain.values())[list(chain).index(step.name.span) :]
            names = [each.name.text for each in (*circle, step)]
            linker.findings.append(fw102_unknown_name.circle(step.kind, names, circle[-1].name.span))
            for each in circle:
                linker.blanks[each.name.span] = frozenset({"*"})
                linker.bodies[each.name.span] = each.block.body
            break
        chain[step.name.span] = step
        base = step.base
        step = linker.scopes[base.span.path][_base_kind(step)].get(base.text) if base is not None else None
    for each in reversed(chain.values()):
        if each.name.span not in linker.bodies:
            linker.bodies[each.name.span] = _own_body(linker, each)
    return linker.bodies[header.name.span]


def _base_kind(header: Header) -> str:
    return "recipe" if header.joint == FROM else header.kind


def _own_body(linker: _Linker, header: Header) -> tuple[Field | Block, ...]:
    """The body of a declaration merged over the body of its base, which has been made already."""
    key = header.name.span
    body = header.block.body
    if header.kind == "wood" and header.name.text in woods.NAMES:
        linker.woods[key] = header.name.text
    if header.base is not None:
        base = _base(linker, _base_kind(header), header.base)
        if base is None and header.kind == "wood" and header.base.text in woods.NAMES:
            linker.woods[key] = header.base.text
        elif base is None or not _affordable(linker, header, base):
            linker.blanks[key] = frozenset({"*"})
        else:
            inherited = linker.bodies[base.name.span]
            if header.joint == FROM:
                inherited, body = _filled(linker, header, base, inherited)
            elif base.name.span in linker.blanks:
                linker.blanks[key] = linker.blanks[base.name.span]
            if base.name.span in linker.woods:
                linker.woods[key] = linker.woods[base.name.span]
            body = merged(inherited, body)
    if header.kind == "recipe":
        linker.blanks.setdefault(key, frozenset(name.text for name in _takes(linker, body)))
    return body


def _affordable(linker: _Linker, header: Header, base: Header) -> bool:
    """Whether the file may take over the body of a base, a recipe's with the job's values in it; FW107 if not."""
    values = {part.word.text: len(part.items) for part in header.block.body if isinstance(part, Field)}
    path, given = header.name.span.path, values if header.joint == FROM else {}
    before = linker.left[path]
    if before > 0:
        linker.left[path] -= sum(_size(part, given) for part in linker.bodies[base.name.span])
        if linker.left[path] <= 0:
            linker.findings.append(fw107_out_of_bounds.taken_over(header.name.text, base.name.text, header.name.span))
    return linker.left[path] > 0


def _size(part: Field | Block, given: Mapping[str, int]) -> int:
    """The words and values of a part of a body, with so many for each name that is `given`."""
    if isinstance(part, Block):
        return 1 + sum(_size(inner, given) for inner in part.body)
    return 1 + _count(part.items, given)


def _count(items: tuple[Item, ...], given: Mapping[str, int]) -> int:
    return sum(
        _count((*item.x, *item.y), given) if isinstance(item, Point) else given.get(getattr(item, "text", ""), 1)
        for item in items
    )


def _base(linker: _Linker, kind: str, name: Name) -> Header | None:
    scope = linker.scopes[name.span.path]
    found = scope[kind].get(name.text)
    if found is None:
        if kind == "wood" and name.text in woods.NAMES:
            return None
        where = linker.places.get((kind, name.text))
        linker.findings.append(fw102_unknown_name.unknown(name.text, name.span, kind, scope[kind], where))
    return found


def _key(part: Field | Block) -> tuple[str, ...]:
    """Two parts of a body with the same key are the same word, or blocks of the same kind and name."""
    if isinstance(part, Field):
        return ("line", part.word.text)
    return ("block", *(item.text if isinstance(item, Name) else "" for item in part.head))


def merged(inherited: tuple[Field | Block, ...], given: tuple[Field | Block, ...]) -> tuple[Field | Block, ...]:
    """A body over the one that it starts from: a word that is given again replaces all its lines, blocks are merged."""
    fresh: dict[tuple[str, ...], list[Field | Block]] = {}
    for part in given:
        fresh.setdefault(_key(part), []).append(part)
    kept: list[Field | Block] = []
    merging: set[tuple[str, ...]] = set()
    for part in inherited:
        key = _key(part)
        if key not in fresh:
            kept.append(part)
        elif isinstance(part, Block) and key not in merging:
            merging.add(key)
            same = (over for over in fresh[key] if isinstance(over, Block))
            kept.extend(over._replace(body=merged(part.body, over.body)) for over in same)
    kept.extend(part for part in given if _key(part) not in merging)
    return tuple(kept)


# -- recipes -----------------------------------------------------------------------------------------------------


def _takes(linker: _Linker, body: tuple[Field | Block, ...]) -> list[Name]:
    """The parameters of a recipe; findings for names that no parameter can have."""
    found: dict[str, Name] = {}
    for part in body:
        for index, item in enumerate(part.items if isinstance(part, Field) and _is_takes(part) else ()):
            if index % 2 and isinstance(item, Mark) and item.text == ",":
                continue
            if index % 2 or not isinstance(item, Name):
                written, wants = getattr(item, "text", ""), ["names with commas between"]
                how = f"Write it like `{TAKES} length, width`."
                linker.findings.append(
                    fw104_wrong_kind.phrase(f"`{TAKES}` of a recipe", item.span, "", wants, written, how)
                )
                break
            if item.text in JOINING_WORDS:
                reason = "it holds phrases together"
                linker.findings.append(fw104_wrong_kind.reserved(item.text, item.span, reason))
            elif item.text in Job.model_fields:
                reason = "a job has a line or block of that name"
                linker.findings.append(fw104_wrong_kind.reserved(item.text, item.span, reason))
            elif item.text in found:
                first = found[item.text].span
                linker.findings.append(fw103_declared_twice.declaration("parameter", item.text, item.span, first))
            else:
                found[item.text] = item
    return list(found.values())


def _filled(
    linker: _Linker, job: Header, recipe: Header, inherited: tuple[Field | Block, ...]
) -> tuple[tuple[Field | Block, ...], tuple[Field | Block, ...]]:
    """The recipe's body with the job's values in it, and the parts of the job's body that are no parameters."""
    if recipe.name.span not in linker.takes:
        linker.takes[recipe.name.span] = {name.text: name for name in _takes(_Linker([]), inherited)}
    takes = linker.takes[recipe.name.span]
    given, rest = _parameters(linker, job, recipe, inherited, takes)
    blanks = [word for word in takes if word not in given or not given[word].items]
    missing = [word for word in blanks if word not in given or not given[word].broken]
    if missing:
        at = takes[missing[0]].span
        linker.findings.append(
            fw108_parameter.missing(missing, job.name.text, recipe.name.text, job.block.head_span, at)
        )
    if blanks or "*" in linker.blanks.get(recipe.name.span, ()):
        linker.blanks[job.name.span] = frozenset(blanks) or frozenset({"*"})
    values = {word: part.items for word, part in given.items()}
    body = tuple(part for part in inherited if not _is_takes(part))
    return tuple(_substituted(part, values) for part in body), rest


def _parameters(
    linker: _Linker, job: Header, recipe: Header, inherited: tuple[Field | Block, ...], takes: Mapping[str, Name]
) -> tuple[dict[str, Field], tuple[Field | Block, ...]]:
    """The lines of a job that give the recipe's parameters, and the other parts of its body; FW103 and FW108."""
    given: dict[str, Field] = {}
    rest: list[Field | Block] = []
    at = next((part.span for part in inherited if _is_takes(part)), recipe.name.span)
    for part in job.block.body:
        word = part.word.text if isinstance(part, Field) else ""
        if not isinstance(part, Field) or (word not in takes and word in Job.model_fields):
            rest.append(part)
        elif word not in takes:
            span, words = part.word.span, tuple(Job.model_fields)
            linker.findings.append(fw108_parameter.unknown(word, recipe.name.text, span, at, tuple(takes), words))
        elif word in given:
            owner = f"job `{job.name.text}`"
            linker.findings.append(fw103_declared_twice.word(word, owner, part.span, given[word].span))
        else:
            given[word] = part
    return given, tuple(rest)


def _is_takes(part: Field | Block) -> bool:
    return isinstance(part, Field) and part.word.text == TAKES


def _substituted(part: Field | Block, values: Mapping[str, tuple[Item, ...]]) -> Field | Block:
    if isinstance(part, Block):
        return part._replace(body=tuple(_substituted(inner, values) for inner in part.body))
    return part._replace(items=_items(part.items, values))


def _items(items: tuple[Item, ...], values: Mapping[str, tuple[Item, ...]]) -> tuple[Item, ...]:
    done: list[Item] = []
    for item in items:
        if isinstance(item, Name) and item.text in values:
            done.extend(values[item.text])
        elif isinstance(item, Point):
            done.append(item._replace(x=_items(item.x, values), y=_items(item.y, values)))
        else:
            done.append(item)
    return tuple(done)


def holds(items: Iterable[Item], names: frozenset[str]) -> bool:
    """Whether one of these names stands among the items."""
    for item in items:
        if isinstance(item, Name) and item.text in names:
            return True
        if isinstance(item, Point) and (holds(item.x, names) or holds(item.y, names)):
            return True
    return False

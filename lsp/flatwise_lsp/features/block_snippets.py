"""Whole jobs and recipes as snippets: they name what the shop declares, and compile as they are inserted."""

from __future__ import annotations

import re
from collections import Counter
from itertools import count
from pathlib import Path

from flatwise.core.finding import Edit
from flatwise.language.items import as_written, join_units
from flatwise_grammar.lines import lexemes
from flatwise_grammar.nodes import Block, Field, Name, NumberWithUnit
from flatwise_lsp.features.declared_names import parameters_of
from flatwise_lsp.features.line_edits import use_line
from flatwise_lsp.features.snippets import escape
from flatwise_lsp.features.unused_names import unused_names
from flatwise_lsp.workspace.tree_search import walk
from flatwise_lsp.workspace.view import View

#: ‹…› is a tab stop, ‹?kind› one with the name of such a declaration; a line whose name nobody declares is left out
_JOB = """job ‹my_panel› {
    machine   ‹?machine›
    standard  ‹?standard›

    stock { size ‹900mm› x ‹500mm› x ‹32mm›; wood ‹ash›; grain along x }

    survey {  # replace every figure by what calipers and feeler gauge say, the panel lying free on the bed
        thickness  front_left ‹32mm›, front ‹32mm›, front_right ‹32mm›, left ‹32mm›, centre ‹32mm›, right ‹32mm›
        thickness  back_left ‹32mm›, back ‹32mm›, back_right ‹32mm›
        gap        front_left ‹0mm›, front ‹0mm›, front_right ‹0mm›, left ‹0mm›, right ‹0mm›
        gap        back_left ‹0mm›, back ‹0mm›, back_right ‹0mm›
    }
"""
_RECIPE = """recipe ‹my_recipe› {
    takes     length, width, rough, finish
    machine   ‹?machine›
    standard  ‹?standard›

    stock { size length x width x rough; wood ‹ash›; grain along x }
"""
_REST = """
    supports { shims ‹?shims› under corners, front, back, left, right, centre }

    hold {
        dog    ‹?dog›  left   at ‹25%›, ‹75%›
        dog    ‹?dog›  front  at ‹15%›, ‹85%›
        clamp  ‹?clamp›  right  at ‹50%›
        clamp  ‹?clamp›  back   at ‹20%›, ‹80%›
    }

    zero { corner front_left at ‹120mm›, ‹120mm›; z bed }
    cut { cutter ‹?cutter›; stepover auto; finish 0.2mm; overrun ‹6mm› }
    faces { first balanced; second to ‹?left› +/- ‹0.5mm›; flip over long_edge }
}"""
SNIPPETS = {"job": _JOB + _REST.replace("‹?left›", "‹29mm›"), "recipe": _RECIPE + _REST.replace("‹?left›", "finish")}


def whole_block(view: View, kind: str) -> tuple[str, tuple[Edit, ...]]:
    """The snippet of a job or recipe, and the `use` lines for names that this file does not see yet."""
    wanted = dict.fromkeys(re.findall(r"‹\?(\w+)›", SNIPPETS[kind]))
    names = {one: next(iter(view.known(one)), "") for one in wanted}
    every = {} if all(names.values()) else unused_names(view)
    unused = {one: every.get(one, {}) for one in wanted if not names[one]}
    # from as few files as can be
    files = Counter(file for found in unused.values() for file in set(found.values()))
    used: dict[Path, Edit] = {}
    for one, found in unused.items():
        if found:
            file = max(found.values(), key=files.__getitem__)
            names[one] = next(name for name, declares in found.items() if declares == file)
            used[file] = use_line(view, file)
    lines = [line for line in SNIPPETS[kind].split("\n") if all(names[one] for one in re.findall(r"‹\?(\w+)›", line))]
    stops = count(1)

    def stop(found: re.Match[str]) -> str:
        text = found[1]
        return f"${{{next(stops)}:{escape(names[text[1:]] if text[0] == '?' else text)}}}"

    return re.sub("‹([^‹›]+)›", stop, "\n".join(lines)), tuple(used.values())


def parameter_example(recipe: Block, parameter: str) -> str:
    """A value for a parameter of a recipe: that of the example of the line which uses it, else a length."""
    for path in walk((recipe,)):
        line, shape = path.node, path.shape
        if shape is None or not isinstance(line, Field):
            continue
        names = [item.text if isinstance(item, Name) else "" for item in join_units(line.items)]
        example = join_units([one.node for one in lexemes(shape.example, "", 0) if one.node is not None])
        if parameter in names and names.index(parameter) < len(example):
            value = example[names.index(parameter)]
            if isinstance(value, NumberWithUnit):
                return as_written(value)
    return "30mm"


def job_body(recipe: Block) -> str:
    """The body of a job from a recipe as a snippet: a line for each parameter."""
    lines = [
        f"    {name.text} ${{{at}:{escape(parameter_example(recipe, name.text))}}}"
        for at, name in enumerate(parameters_of(recipe), 1)
    ]
    return "{\n" + "\n".join([*lines, "    $0", "}"])

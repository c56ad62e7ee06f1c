"""Linking: scopes, `like`, recipes, and names that are missing or there twice."""

from __future__ import annotations

from pathlib import Path

import pytest
from compiler.reading import USES, codes, mended, only, read_text, under

from flatwise.core.finding import Finding
from flatwise.language.block_reader import _BlockReader
from flatwise.language.link import MOST_JOBS, MOST_TAKEN, _size, link
from flatwise.sources.load import load
from flatwise_grammar.nodes import Field

RECIPE = """
recipe glued_top {
    takes  length, width, rough, done, edge
    machine bench_router
    standard solid_tops
    stock { size length x width x rough; wood ash; grain along x }
    survey { thickness centre rough, (edge, 1in) rough }
    hold { dog low_dog left at edge; clamp side_cam right at 50% }
    zero { corner front_left at 120mm, 120mm; z top }
    cut { cutter fly_64; depth 0.5mm }
    faces { first balanced; second to done +/- 0.2mm; flip over long_edge }
}
"""
GIVEN = "length 1200mm; width 380mm; rough 34mm; done 1 1/8 in; edge 100mm"


def test_like_replaces_words_and_merges_blocks(shop: Path) -> None:
    text = """
    machine slow like bench_router { feed up to 3m/min; controller { decimals 4 } }
    cutter dull like fly_64 { depth up to 0.5mm }
    cutter duller like dull { speed 10000rpm to 12000rpm }
    job demo from plain_top { machine slow; cut { cutter duller; speed auto } }
    """
    front = read_text(shop, text)
    assert not front.findings
    work = front.works[0]
    assert (work.machine.feed.most, work.machine.z_feed) == (3000.0, 750.0)
    assert (work.machine.controller.places, str(work.machine.controller.offset)) == (4, "G57")
    assert work.machine.travel.x == 1320.0
    assert (work.cutter.depth, work.cutter.speed.most, work.cutter.diameter) == (0.5, 12000.0, 64.0)
    assert work.cutter.wrote("diameter") and not work.cutter.wrote("nothing")


def test_all_lines_of_a_repeated_word_are_replaced(shop: Path) -> None:
    front = read_text(shop, "job demo from plain_top { hold { dog low_dog left at 50% } }")
    work = front.works[0]
    assert [(held.edge, held.at[0].text) for held in work.job.hold.dog] == [("left", "50%")]  # type: ignore[union-attr]
    assert len(work.job.hold.clamp) == 2  # type: ignore[union-attr]


def test_a_recipe_takes_its_values_from_the_job(shop: Path) -> None:
    front = read_text(shop, RECIPE + f"job hall from glued_top {{ {GIVEN} }}")
    assert not front.findings
    work = front.works[0]
    assert (work.length, work.width, work.thickness) == (1200.0, 380.0, 34.0)
    assert work.job.faces.second.thickness == 28.575  # type: ignore[union-attr]
    assert str(work.job.faces.second.thickness) == "1 1/8in"  # type: ignore[union-attr]
    places = [reading.place for reading in work.job.survey.thickness]  # type: ignore[union-attr]
    assert places[1].on(0, 0) == (100.0, 25.4)
    assert front.texts["jobs/example.flat"][work.job.stock.size.length.span.start :].startswith("1200mm")


def test_findings_in_given_values_show_the_recipes_line(shop: Path) -> None:
    front = read_text(shop, RECIPE + f"job hall from glued_top {{ {GIVEN.replace('rough 34mm', 'rough 34rpm')} }}")
    finding = only(front)
    assert (finding.code, under(front, finding)) == ("FW104", "34rpm")
    related = front.texts["jobs/example.flat"][finding.related[0].span.start :]
    assert related.startswith(("size length x width x rough", "thickness centre rough"))


def test_parameters_missing_or_unknown(shop: Path) -> None:
    front = read_text(shop, RECIPE + "job hall from glued_top { length 1200mm; width 380mm; done 29mm; edge 25% }")
    finding = only(front)
    assert finding.code == "FW108" and "`rough`" in finding.message
    assert under(front, finding).startswith("job hall")
    at = front.texts["jobs/example.flat"][finding.related[0].span.start : finding.related[0].span.end]
    assert at == "rough"
    front = read_text(shop, RECIPE + f"job hall from glued_top {{ {GIVEN}; heigth 3mm }}")
    assert only(front).code == "FW108"
    front = read_text(shop, RECIPE + f"job hall from glued_top {{ {GIVEN}; rough 35mm }}")
    assert only(front).code == "FW103"


@pytest.mark.parametrize(
    ("takes", "code"),
    [("x", "FW104"), ("like", "FW104"), ("stock", "FW104"), ("a, a", "FW103"), ("3mm", "FW104"), ("a b", "FW104")],
)
def test_names_that_no_parameter_can_have(shop: Path, takes: str, code: str) -> None:
    assert codes(read_text(shop, f"recipe odd {{ takes {takes} }}")) == [code]


def test_a_recipe_that_no_job_uses_is_read_too(shop: Path) -> None:
    front = read_text(shop, RECIPE.replace("depth 0.5mm", "dpeth 0.5mm; overrun done; stepover 65"))
    assert codes(front) == ["FW101", "FW104"]


def test_names_are_looked_up_where_they_are_written(shop: Path) -> None:
    (shop / "shared" / "inner.flat").write_text("dog peg { across 12mm; height 9mm }")
    (shop / "shared" / "outer.flat").write_text(
        'use "shop.flat"\nuse "inner.flat"\nuse "sample.flat"\nrecipe pegged { hold { dog peg left at 50% } }\n'
    )
    # the recipe names `peg`, which its own file sees and the job's does not
    job = 'use "../shared/outer.flat"\nuse "../shared/sample.flat"\n'
    job += "job demo from plain_top { hold { dog peg left at 50% } }"
    front = read_text(shop, job)
    finding = only(front)
    assert (finding.code, under(front, finding)) == ("FW102", "peg")
    full = (shop / "shared" / "sample.flat").read_text().replace("low_dog ", "peg ").replace("plain_top", "pegged_top")
    (shop / "shared" / "sample.flat").write_text(full.replace('use "shop.flat"', 'use "shop.flat"\nuse "inner.flat"'))
    front = read_text(shop, 'use "../shared/sample.flat"\njob demo from pegged_top { }')
    assert not front.findings
    assert {holder.name for holder in front.works[0].holders} == {"peg", "side_cam"}


def test_names_are_per_kind_and_order_does_not_matter(shop: Path) -> None:
    front = read_text(
        shop,
        "job demo from plain_top { cut { cutter same } hold { dog same left at 50%; dog low_dog front at 50% } }\n"
        "cutter same like fly_64 { }\ndog same like low_dog { }",
    )
    assert not front.findings


def test_a_name_declared_in_two_files(shop: Path) -> None:
    front = read_text(shop, "dog low_dog { across 19mm; height 11mm }")
    finding = only(front)
    assert finding.code == "FW103" and finding.related[0].span.path == "shared/shop.flat"
    front = read_text(
        shop,
        "wood oak2 like white_oak { }\nwood teak { modulus 11000MPa }\njob demo from plain_top { stock { wood teak } }",
    )
    assert not front.findings
    wood = front.works[0].wood
    assert (wood.modulus, float(wood.density)) == (11000.0, pytest.approx(0.55 * 1120))


def test_two_jobs_of_one_name_in_one_build(shop: Path) -> None:
    (shop / "jobs" / "a.flat").write_text(USES + "job demo from plain_top { }")
    (shop / "jobs" / "b.flat").write_text(USES + "job demo from plain_top { }")
    _, findings = link(load([shop / "jobs"])[0])
    assert [finding.code for finding in findings] == ["FW103"]
    assert findings[0].span is not None and findings[0].span.path == "jobs/b.flat"
    assert findings[0].related[0].span.path == "jobs/a.flat"


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("cutter { }", "FW001"),
        ("cutter like fly_64 { }", "FW001"),
        ("cutter a b { }", "FW001"),
        ("cutter a like { }", "FW001"),
        ("cutter a like fly_64 dull { }", "FW001"),
        ("cutter a from fly_64 { }", "FW001"),
        ('cutter "a" { }', "FW001"),
        ("cutter a like fly_46 { }", "FW102"),
        ("job a from plain_tpo { }", "FW102"),
        ("cuter a { }", "FW101"),
        ("stock { }", "FW101"),
        ("wood a like no_wood { }", "FW102"),
        ("cutter a like b { }\ncutter b like a { }", "FW102"),
        ("cutter a like a { }", "FW102"),
        ("recipe r like r { }", "FW102"),
    ],
)
def test_headers_and_bases(shop: Path, text: str, code: str) -> None:
    found = codes(read_text(shop, text))
    assert found[:1] == [code], found
    # a faulty base is not followed by all that it would have brought
    assert len(found) == 1 or code == "FW001"


def test_long_chains_and_circles_do_not_recurse(shop: Path) -> None:
    chain = [f"dog a{i} like a{i + 1} {{ }}" for i in range(2000)]
    assert not read_text(shop, "\n".join([*chain, "dog a2000 { across 19mm; height 9mm }"])).findings
    finding = only(read_text(shop, "\n".join([*chain, "dog a2000 like a0 { }"])))
    assert finding.code == "FW102" and len(finding.message) < 200


def test_a_misspelt_base_has_a_fix(shop: Path) -> None:
    front = read_text(shop, "cutter a like fly_46 { }")
    assert "like fly_64" in mended(front, only(front))


def test_missing_parameters_are_one_finding_however_many(shop: Path) -> None:
    takes = ", ".join(f"p{k}" for k in range(900))
    front = read_text(shop, f"recipe long {{ takes {takes} }}\njob a from long {{ p1 3mm }}\njob b from long {{ }}")
    first, second = (finding for finding in front.findings if finding.code == "FW108")
    assert "`p0`, `p2`, `p3`" in first.message and "and 891 more" in first.message and "892 more" in second.message


@pytest.mark.parametrize(
    ("body", "given", "jobs"),
    [
        ("hold { dog low_dog left at 1% }\n" * 300, "", 300),
        ("supports { shims leaf_set under " + ", ".join(["a"] * 1500) + " }", "a " + ", ".join(["front"] * 1500), 1),
    ],
    ids=["lines of a recipe", "values of a parameter"],
)
def test_a_short_file_cannot_take_over_more_than_can_be_read(shop: Path, body: str, given: str, jobs: int) -> None:
    text = f"recipe r {{\ntakes a\n{body}}}\n" + "".join(f"job j{k} from r {{ {given} }}\n" for k in range(jobs))
    assert len(text) < 20_000
    linked, findings = link(load([_written(shop, text)])[0])
    (one,) = (finding for finding in findings if finding.code == "FW107")
    assert "take over more words and values" in one.message
    taken = sum(_size(part, {}) for each in linked.declarations if each.kind == "job" for part in each.body)
    assert taken <= MOST_TAKEN


def test_a_recipe_serves_as_many_jobs_as_a_file_may_have(shop: Path) -> None:
    jobs = "".join(f"job j{k} from glued_top {{ {GIVEN} }}\n" for k in range(MOST_JOBS))
    front = read_text(shop, RECIPE + jobs)
    assert not front.findings and len(front.works) == MOST_JOBS
    beyond = "".join(f"job k{k} from glued_top {{ {GIVEN} }}\n" for k in range(3))
    front = read_text(shop, RECIPE + jobs + beyond)
    assert len(front.works) == MOST_JOBS
    finding = only(front)
    assert finding.code == "FW107" and under(front, finding) == "k0"
    assert finding.message == f"This file has {MOST_JOBS + 3} jobs; {MOST_JOBS} are the most that one file may have."
    # the way out: the rest in a file of its own, which uses the first
    read_text(shop, RECIPE + jobs)
    front = read_text(shop, f'use "example.flat"\n{beyond}', "rest.flat")
    assert not front.findings and [work.name for work in front.works] == ["k0", "k1", "k2"]


def test_a_wrong_line_of_a_recipe_is_looked_up_once_however_many_jobs_start_from_it(
    shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    looked: list[str] = []
    plain = _BlockReader.unknown_word

    def counted(reader: _BlockReader, part: Field) -> Finding:
        looked.append(part.word.text)
        return plain(reader, part)

    monkeypatch.setattr(_BlockReader, "unknown_word", counted)
    jobs = "".join(f"job j{k} from r {{ }}\n" for k in range(30))
    found = read_text(shop, "recipe r { machin bench_router\nthikness 3mm }\n" + jobs).findings
    assert looked == ["machin", "thikness"]
    # and what the first certainly means is missing in no job
    assert sum(finding.code == "FW101" for finding in found) == 2
    assert not any("no `machine`" in finding.message for finding in found)


def _written(shop: Path, text: str) -> Path:
    path = shop / "jobs" / "example.flat"
    path.write_text(USES + text)
    return path

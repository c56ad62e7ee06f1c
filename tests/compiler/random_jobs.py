"""Random jobs as text: panels, readings, holders and words of every kind, in sensible sizes.

`write_job` makes every choice through a `Chance`: Hypothesis, which can simplify a failing job, or a plain generator,
which is quick.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

from compiler.random_shop import Chance, Draft, Written, cutter, diameter_for, from_the_wall, holders, machine, standard

PLACES = {
    "front_left": (0.0, 0.0), "front": (0.5, 0.0), "front_right": (1.0, 0.0), "left": (0.0, 0.5), "centre": (0.5, 0.5),
    "right": (1.0, 0.5), "back_left": (0.0, 1.0), "back": (0.5, 1.0), "back_right": (1.0, 1.0),
}  # fmt: skip
CORNERS = ("front_left", "front_right", "back_left", "back_right")
EDGES = ("front", "back", "left", "right")
WOODS = ("ash", "white_oak", "walnut", "beech", "white_pine", "mdf", "teak", "sugar_maple", "shed_wood")
WAIVED = ("depth", "leave", "clearance", "overrun", "rock", "ridge", "power", "uneven", "sag", "survey")


def write_job(chance: Chance, name: str = "panel") -> Written:
    """A job with everything that it uses; most are accepted, some break a rule."""
    job = Draft(chance, chance.pick((False, False, True)))
    bed = job.maybe(0.06)
    shape = chance.pick(("small", "any", "any", "long", "large"))
    sides = {"small": (60, 300, 60, 300), "any": (150, 1000, 100, 700), "long": (700, 1300, 60, 200)}
    a, b, c, d = sides.get(shape, (900, 1300, 600, 1300))
    length, width = chance.between(a, b), chance.between(c, d)
    if job.maybe(0.3):
        length, width = width, length
    uses, named = from_the_wall(chance) if job.maybe(0.3) else ("", {})
    if named:
        job.travel = 1270.0
        length, width = min(length, 1120.0), min(width, 1120.0)
    (length_text, job.length), (width_text, job.width) = job.mm(length), job.mm(width)
    thick_text, job.thick = job.mm(chance.between(18.0, 60.0), fine=True)
    diameter = diameter_for(job)
    blocks = [
        machine(job),
        cutter(job, diameter),
        holders(job),
        "shims leaves { leaves 0.03mm, 0.05mm, 0.1mm, 0.15mm, 0.2mm, 0.3mm, 0.4mm, 0.5mm, 1mm; stack up to 3 }",
        "wood shed_wood { density 540kg/m3; modulus 9500MPa; cutting_energy 40N/mm2; modulus_across 700MPa }",
        standard(job),
    ]
    grain, glue = chance.pick(("x", "x", "y")), ""
    lines = _glue_lines(job, grain)
    if lines and not bed:
        glue = f"; glue_lines {'y' if grain == 'x' else 'x'} {', '.join(text for text, _ in lines)}"
    stock = (
        f"stock {'bed ' if bed else ''}{{ size {length_text} x {width_text} x {thick_text}; "
        f"wood {chance.pick(WOODS[:-1] if named else WOODS)}; grain along {grain}{glue} }}"
    )
    body = [stock, _zero(job, diameter, bed), _cut(job, diameter)]
    if bed:
        body.append(f"faces {{ first take {job.said(chance.between(0.2, 1.5), fine=True)} }}")
    else:
        faces, after = _faces(job)
        flip = "short" if "short_edge" in faces else "long"
        survey = _survey(job, lines, grain, flip) if job.maybe(0.93) else ""
        body += [survey, _supports(job), _hold(job), faces, *after]
        if job.maybe(0.1):
            body.append(f'waive {chance.pick(("rock", "sag", "uneven", "depth"))} because "an offcut (tried; 3 March)"')
    head = ["machine router", chance.pick(("", *["standard house"] * 4))]
    text = [uses] if named else ['use "../shared/shop.flat"' if job.maybe(0.2) else "", *blocks]
    chance_of_recipe = job.maybe(0.15)
    if chance_of_recipe:
        body[0] = body[0].replace(f"size {length_text}", "size side").replace(thick_text, "rough")
        text.append(f"recipe again {{\ntakes side, rough\n{_lines([*head, *body])}\n}}")
        text.append(f"job {name} from again {{\nside {length_text}; rough {thick_text}\n}}")
    else:
        text.append(f"job {name} {{\n{_lines([*head, *body])}\n}}")
    whole = "\n".join(filter(None, text)) + "\n"
    for own, other in named.items():
        whole = re.sub(rf"\b{own}\b", other, whole)
    return Written(whole, job.files)


def _lines(parts: Sequence[str]) -> str:
    return "\n".join(filter(None, parts))


def _glue_lines(job: Draft, grain: str) -> list[tuple[str, float]]:
    side = job.width if grain == "x" else job.length
    count = job.chance.pick((0, 0, 1, 2, 4))
    if side < 120:
        count = min(count, 1)
    return [job.mm(side * (k + 1) / (count + 1)) for k in range(count)]


def _zero(job: Draft, diameter: float, bed: bool) -> str:
    corner = job.chance.pick(CORNERS)
    spare_x, spare_y = (job.travel - job.length) / 2, (job.travel - job.width) / 2
    least = min(diameter / 2 + 35.0 if not bed else 0.0, spare_x, spare_y)
    x = job.chance.between(min(diameter + 25, spare_x), 2 * spare_x - min(diameter + 25, spare_x))
    y = job.chance.between(min(diameter + 25, spare_y), 2 * spare_y - min(diameter + 25, spare_y))
    if bed and job.maybe(0.5):
        x, y = job.chance.between(-40, least), job.chance.between(-40, least)
    x += job.length if "right" in corner else 0.0
    y += job.width if "back" in corner else 0.0
    on = "top" if bed else job.chance.pick(("top", "top", "bed"))
    paper = f" by paper {job.chance.pick(('0.05mm', '0.1mm', '0.003in', '0mm'))}" if job.maybe(0.6) else ""
    return f"zero {{ corner {corner} at {job.said(x)}, {job.said(y)}; z {on}{paper} }}"


def _cut(job: Draft, diameter: float) -> str:
    pick = job.chance.pick
    words = ["cutter fly"]
    if job.maybe(0.85):
        pattern = f"rows {pick(('along', 'across'))} grain"
        if job.maybe(0.35):
            pattern += pick((", one_way", ", one_way climb", ", one_way conventional"))
        words.append(pattern + (", edge first" if job.maybe(0.3) else ""))
    if job.maybe(0.85):
        words.append(f"stepover {pick((25, 40, 55, 65, 80, 95, 99, 100, 37.5))}%")
    if job.maybe(0.6):
        words.append(f"depth {pick(('0.3mm', '0.5mm', '0.6mm', '1/64in', '0.02in', '0.8mm'))}")
    if job.maybe(0.5):
        words.append(f"finish {pick(('0.1mm', '0.2mm', '5thou', '0.25mm'))}")
    if job.maybe(0.6):
        words.append(f"overrun {pick(('0mm', '4mm', '6mm', '1/4in', '12mm'))}")
    if job.maybe(0.3):
        words.append(f"speed {pick(('auto', '8000rpm', '10000rpm', '12000rpm'))}")
    if job.maybe(0.3):
        words.append(f"feed {pick(('auto', '2m/min', '4m/min', '120in/min'))}")
    if job.maybe(0.4):
        words.append(f"skip_air {pick(('yes', 'no', 'no'))}")
    return f"cut {{ {'; '.join(words)} }}"


def _survey(job: Draft, lines: Sequence[tuple[str, float]], grain: str, flip: str) -> str:
    """Readings of one true panel: no point lies below the bed, and its thickness is near the nominal one."""
    chance, between = job.chance, job.chance.between
    across = "y" if grain == "x" else "x"
    bow, cup, lift, wedge = (between(0, most) * chance.pick((0, 1, 1)) for most in (0.3, 0.3, 0.5, 0.4))
    lifted, crown = chance.pick(CORNERS), chance.pick((True, False))
    step = chance.pick((0.0, 0.2, -0.25)) if lines else 0.0
    place = lines[len(lines) // 2][1] if lines else 0.0

    def lower(u: float, v: float) -> float:
        cu = u if "right" in lifted else 1 - u
        cv = v if "back" in lifted else 1 - v
        parts = ((2 * u - 1) ** 2, (2 * v - 1) ** 2) if crown else (4 * (u - u * u), 4 * (v - v * v))
        return lift * cu * cv + parts[0] * bow + parts[1] * cup

    def thickness(u: float, v: float) -> float:
        beyond = v * job.width > place if across == "y" else u * job.length > place
        return job.thick + wedge * (u - v) - 0.3 * u * v + (step if lines and beyond else 0.0)

    words, within = [], between(0.02, 0.1)
    kind = chance.pick(("named", "named", "points", "probe", "probe under", "file", "words", "some"))
    some = list(PLACES) if kind != "some" else [*CORNERS, "centre"]
    if kind in ("named", "some", "words"):
        said = (f"{at} {job.said(thickness(*PLACES[at]), fine=True)}" for at in some if kind != "words" or at in EDGES)
        words.append(f"thickness {', '.join(said)}")
    if kind in ("named", "some"):
        ends = [at for at in PLACES if at != "centre" and (kind == "named" or at in CORNERS)]
        words.append(f"gap {', '.join(f'{at} {job.said(lower(*PLACES[at]), fine=True)}' for at in ends)}")
    if kind == "points":
        spots = [(between(0.02, 0.98), between(0.02, 0.98)) for _ in range(chance.pick((3, 6, 12, 30)))]
        words += [f"thickness {job.point(*at)} {job.said(thickness(*at), fine=True)}" for at in dict.fromkeys(spots)]
        words.append(f"gap {', '.join(f'{at} {job.said(lower(*PLACES[at]), fine=True)}' for at in (*CORNERS, *EDGES))}")
    if kind.startswith("probe") or kind == "file":
        nx, ny = chance.pick((3, 5, 9, 21)), chance.pick((3, 4, 9, 15))
        net = [(i / (nx - 1), j / (ny - 1)) for j in range(ny) for i in range(nx)]
        if job.maybe(0.3):
            net = [(between(0.0, 1.0), between(0.0, 1.0)) for _ in range(chance.pick((6, 25, 80)))]
        noise = chance.pick((0.0, 0.0, 0.01, 0.05))
        head, mark = chance.pick(("", "# probed\n")), chance.pick((",", ";", "\t"))
        unit, worth = chance.pick((("mm", 1.0), ("in", 25.4)))

        def table(height: Callable[[float, float], float], turn: str = "") -> str:
            rows = []
            for u, v in net:
                # x and y count on the panel as it lies while it is probed
                x, y = (1 - u if turn == "y" else u) * job.length, (1 - v if turn == "x" else v) * job.width
                z = height(u, v) + between(-noise, noise)
                rows.append(mark.join((repr(x / worth), repr(y / worth), f"{z / worth:.5f}")))
            columns = mark.join(f"{name} {unit}" for name in ("x", "y", "t" if kind == "file" else "z"))
            return "\n".join((head + columns, *rows))

        if kind == "file":
            job.files["t.csv"] = table(thickness)
            words.append('thickness "t.csv"')
        else:
            job.files["top.csv"] = table(lambda u, v: lower(u, v) + thickness(u, v))
            words.append('probe "top.csv"')
        if kind == "probe under":
            turn = "x" if (job.length >= job.width) == (flip == "long") else "y"
            job.files["under.csv"] = table(lambda u, v: job.thick + 1.0 - lower(u, v), turn)
            words.append('probe under "under.csv"')
        if kind == "probe under" or (kind == "probe" and job.maybe(0.7)):
            named = (f"{at} {job.said(thickness(*PLACES[at]), fine=True)}" for at in some)
            words.append(f"thickness {', '.join(named)}")
    elif kind == "words" or (kind in ("named", "some") and job.maybe(0.4)):
        # beside gaps, words say the true shape; alone they may say any
        true, arched = kind != "words", " hollow" if crown else " crown"
        along, across_it = (bow, cup) if grain == "x" else (cup, bow)
        twisted = "" if lifted in ("front_left", "back_right") else " other way"
        for word, height, way in (
            ("cup", across_it, arched if true else " hollow"),
            ("bow", along, arched if true else " crown"),
            ("twist", lift, twisted if true else chance.pick(("", " other way"))),
        ):
            if true or job.maybe(0.8):
                words.append(f"{word} {job.said(height if true else between(0, 0.5), fine=True)}{way}")
    if step and kind in ("named", "words", "some"):
        text = lines[len(lines) // 2][0]
        face = chance.pick(("", "", "through ")) if kind == "words" else ""
        way = " lower" if step < 0 else ""
        words.append(f"step {face}{job.said(abs(step), fine=True)}{way} at {across} {text}")
    if job.maybe(0.85):
        words.append(f"within {job.said(within, fine=True)}")
    return f"survey {{\n{_lines(words)}\n}}"


def _supports(job: Draft) -> str:
    kind = job.chance.pick(("none", "leaves", "leaves", "hand", "both"))
    if kind == "none":
        return ""
    words = []
    if kind in ("leaves", "both"):
        at = job.chance.pick(("corners", "corners, front, back", "corners, front, back, left, right, centre",
                              "front, back, left, right"))  # fmt: skip
        words.append(f"shims leaves under {at}")
    if kind == "hand" or (kind == "both" and job.maybe(0.5)):
        spot = "centre" if kind == "both" and "centre" not in words[0] else job.chance.pick(tuple(PLACES))
        if kind == "hand" or spot not in words[0]:
            words.append(f"shim {job.said(job.chance.between(0.1, 0.6), fine=True)} under {spot}")
    if job.maybe(0.6):
        words.append(f"aim {job.chance.pick(('enough', 'least_removal', 'natural'))}")
    return f"supports {{ {'; '.join(words)} }}"


def _hold(job: Draft) -> str:
    """Dogs on two edges and clamps on the opposite ones; their number depends on the edge."""
    dogs = job.chance.pick((("left", "front"), ("right", "front"), ("left", "back"), ("right", "back")))
    opposite = {"left": "right", "right": "left", "front": "back", "back": "front"}
    words = []
    for edge in dogs:
        side = job.width if edge in ("left", "right") else job.length
        for word, name, on in (("dog", "stop", edge), ("clamp", "cam", opposite[edge])):
            count = job.chance.pick((2, 2, 3) if side > 200 else (2,)) if word == "dog" or side > 400 else 1
            shares = [(k + job.chance.between(0.3, 0.7)) / count for k in range(count)]
            at = ", ".join(f"{100 * s:.1f}%" if job.maybe(0.6) else job.said(s * side) for s in shares)
            words.append(f"{word} {name} {on} at {at}")
    return f"hold {{\n{_lines(words)}\n}}"


def _faces(job: Draft) -> tuple[str, list[str]]:
    """The faces to cut, and for some jobs measurements after a face."""
    pick, between, said = job.chance.pick, job.chance.between, job.said
    job.final = job.thick - between(2.5, 5.0)
    tolerance = f" +/- {pick(('0.5mm', '0.8mm', '1mm', '1/32in'))}" if job.maybe(0.6) else ""
    second_text, job.final = job.mm(job.final, fine=True)
    to = f"to {second_text}{tolerance}"
    second = pick((to, to, "until clean", f"take {said(between(1, 2.5))}"))
    first = pick(("until clean", "until clean", "balanced", f"take {said(between(1, 2), fine=True)}",
                  f"to {said(job.thick - between(0.8, 1.8), fine=True)}"))  # fmt: skip
    if first == "balanced" and not second.startswith("to"):
        first = "until clean"
    faces, after = f"first {first}; second {second}; flip over {pick(('long_edge', 'short_edge'))}", []
    kind = pick((*["both"] * 6, "one", "after", "again", "more", "marks"))
    if kind == "one":
        return f"faces {{ first {'until clean' if first == 'balanced' else first} }}", []
    if kind == "after" and job.maybe(0.5):
        faces = faces.partition("; ")[2]
    spots = job.chance.pick((("centre",), ("front_left", "centre", "back_right"), CORNERS))
    half = (job.thick + job.final) / 2
    if kind == "after":
        found = ", ".join(f"{at} {said(half + between(-0.1, 0.1), fine=True)}" for at in spots)
        after = [f"after first {{ thickness {found} }}"]
    elif kind == "again":
        after = ["after first { marks left }"]
    elif kind == "marks":
        after = ["after second { marks left }"]
    elif kind == "more":
        found = ", ".join(f"{at} {said(job.final + between(0.2, 1.2), fine=True)}" for at in spots)
        after = [f"after second {{ thickness {found} }}"]
    return f"faces {{ {faces} }}", after


def with_rarer_words(chance: Chance, written: Written) -> Written:
    """The same job with words that few jobs have, each in about a third of them."""
    places = chance.pick(("centre 40mm", "front 31mm, back 31mm", '"t.csv"', '"after.csv"'))
    job, text = Draft(chance, False), written.text
    for head, line in (
        (r"\bcut \{", f" rough {chance.pick(('auto', 'same'))};"),
        (r"\bcut \{(?!.*stepover)", " stepover auto;"),
        (r"\bcontroller \{", f" corners {chance.pick(('exact', 'within 0.05mm', 'within 1mm', 'within 1/32in'))};"),
        (r"\bcontroller \{(?!.*block_delete)", " block_delete no;"),
        (r"\bcutter (?:plain_)?fly \{", f" corner {chance.pick(('0mm', '0.5mm', '3mm'))};"),
        (r"\bchip_load \S+ to [^;\s]+", ' from "chart in the leaflet"'),
        (r"\bshims leaves \{", f" count {chance.pick((1, 4, 100))};"),
        (r"\bleaves 0.03mm, ", f"{chance.pick((1, 2, 8))} x 0.07mm, "),
        (r"\bmodulus_across 700MPa", "; shear_modulus 600MPa"),
        (r"\bsurvey \{", f"\nwalk dial{chance.pick(('', ' at 2 x 2', ' at 9 x 4'))}"),
        (r"\bstep (?=[\d.])", "under "),
        (r"\bafter (?:first|second) \{", f" within {chance.pick(('0mm', '0.02mm', '0.3mm'))};"),
        (r"\bafter (?:first|second) \{(?= thick)", f" thickness {places};"),
        (r"\bmachine router\n", f'waive {chance.pick(WAIVED)} because "tried on an offcut"\n'),
    ):
        if job.maybe(0.35):
            text = re.sub(head, lambda match, line=line: match[0] + line, text, count=1)  # type: ignore[misc]
    if job.maybe(0.06):
        text = re.sub(r"\bsecond (?:until clean|take [^;]+)", "second balanced", text)
    if "walk dial" in text:
        text += f"gauge dial {{ reach {chance.pick((40, 60))}mm; travel 10mm; across {chance.pick((20, 58))}mm }}\n"
    after = "x mm,y mm,t mm\n10,10,28\n40,10,28\n10,40,28\n"
    return Written(text, {**written.files, **({"after.csv": after} if "after.csv" in text else {})})

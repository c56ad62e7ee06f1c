"""Small inputs that ask for much, and what each costs:  python tests/bench/costly.py [PART OF A NAME]

Each is about 20 KB of text at most, beside the shop's library, and runs in a process of its own.  The goal is 5 s of
processor and 300 MB; the ratio is to loading the libraries in the same run.
"""

from __future__ import annotations

import json
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT / "tests")]

from bench.pace import LIBRARIES  # noqa: E402 (needs the path set just above)

USE = 'use "shared/shop.flat"\nuse "shared/sample.flat"\n'
PLACES = ["front_left", "front", "front_right", "left", "centre", "right", "back_left", "back", "back_right"]
#: a machine, holders and a cutter for any panel
HOUSE = USE + (
    "machine large like bench_router { travel 9m x 9m x 160mm; shoe 140mm across, 30mm above edge }\n"
    "dog stop { across 19mm; height 40mm }\n"
    "clamp push { foot 20mm x 20mm; height 40mm; force 20kN; pushes at 30mm }\n"
    "cutter own like fly_64 { diameter %smm; shank %smm; blade 37mm; depth up to 5mm; "
    "chip_load 0.001mm to 0.3mm }\n"
)
CLAMPS = "clamp push right at 50%; clamp push back at 50%"
#: name, files by name, arguments of `flatwise`; with `serve` an editor opens a.flat and asks for its findings
Input = tuple[str, dict[str, str], list[str]]
BUILD, CHECK, SERVE = ["build", "a.flat", "--out", "out"], ["check", "a.flat"], ["serve"]
FORMS = ("text", "short", "json", "sarif", "github", "gitlab", "junit")


def job(x: object, y: object, begins: str = "job a {", **blocks: str) -> str:
    """A panel of 60 mm; `blocks` replace those of the same name."""
    thickness, gap = (", ".join(f"{place} {value}mm" for place in PLACES) for value in (60, 0))
    body = {
        "stock": f"size {x} x {y} x 60mm; wood ash; grain along x",
        "survey": f"thickness {thickness}; gap {gap.replace(', centre 0mm', '')}; within 0.01mm; "
        "cup 0mm crown; bow 0mm crown; twist 0mm",
        "hold": "dog stop left at 20%, 80%; dog stop front at 20%, 80%; " + CLAMPS,
        "zero": "corner front_left at 300mm, 300mm; z bed",
        "cut": "cutter own; depth 0.5mm",
        "faces": "first take 1mm; second take 1mm; flip over long_edge",
    }
    return f"{begins} machine large; " + "".join(f"{k} {{ {v} }} " for k, v in (body | blocks).items()) + "}\n"


def panels() -> Iterator[Input]:
    for count in (30, 900):
        places = ", ".join(f"({13 + 26 * (i % 34)}mm, {9 + 17 * (i // 34)}mm)" for i in range(count))
        text = f"job a from plain_top {{ supports {{ shims leaf_set under {places}; aim least_removal }} }}"
        yield f"{count} places for leaves", {"a.flat": USE + text}, BUILD
    table = "".join(f"{x},{y},{60 + (x + y) // 50 % 2}\n" for x in range(0, 2001, 50) for y in range(0, 1201, 50))
    text = job("2m", "1.2m", survey='probe "t.csv"', supports="shim 0.01mm under corners", faces="first take 5mm")
    made = {"a.flat": HOUSE % (12, 12) + text, "t.csv": "x mm,y mm,z mm\n" + table}
    yield "a checkered grid of probes, 12 mm cutter", made, BUILD
    bed = (
        "job a { machine large; stock bed { size 6m x 6m x 30mm; grain along x } cut { cutter fly_64; stepover 0.3% }\n"
    )
    bed += "zero { corner front_left at 300mm, 300mm; z top } faces { first take 0.3mm } }\n"
    yield "a bed of 6 m at 0.3 % stepover", {"a.flat": HOUSE % (64, 12) + bed}, BUILD
    for name, x, y, across, cut in (
        ("3 x 2 m, 3.5 mm cutter", "3m", "2m", 3.5, "depth 0.8mm"),
        ("3 x 2 m, 0.2 mm cutter", "3m", "2m", 0.2, "depth 0.8mm"),
        ("3 x 2 m, 6 mm cutter across", "3m", "2m", 6, "depth 0.5mm; rows across grain, one_way"),
        (
            "3 x 2 m edge first one way",
            "3m",
            "2m",
            64,
            "depth 0.11mm; stepover 12%; rows along grain, one_way, edge first",
        ),
        ("nearly 3,000 rows of 3 m", "3m", "2m", 64, "depth 0.11mm; stepover 12%"),
        ("rows of 0.5 m in 16 passes", "500mm", "300mm", 3, "depth 0.06mm"),
    ):
        text = job(x, y, cut=f"cutter own; {cut}", faces="first take 1mm; second take 1mm; flip over long_edge")
        yield name, {"a.flat": HOUSE % (across, min(across, 12)) + text}, BUILD
    chance = random.Random(1)
    many = (f"({chance.randint(0, 900)}mm, {chance.randint(0, 500)}mm) 60.{chance.randint(0, 1)}mm" for _ in range(600))
    text = job("900mm", "500mm", survey=f"thickness {', '.join(many)}", faces="first take 3mm")
    yield "600 readings", {"a.flat": HOUSE % (64, 12) + text}, BUILD
    lines = [f"{5 + 7 * i}mm" for i in range(70)]
    steps = "; ".join(f"step 0.{1 + i % 9}mm {'lower ' * (i % 2)}at y {line}" for i, line in enumerate(lines))
    size = f"size 3m x 500mm x 60mm; wood ash; grain along x; glue_lines y {', '.join(lines)}"
    text = job(0, 0, stock=size, survey=f"thickness centre 60mm; {steps}", faces="first take 12mm")
    yield "70 steps at glue lines", {"a.flat": HOUSE % (12, 12) + text}, BUILD
    dogs = ", ".join(f"{50 + 30 * i}mm" for i in range(48))
    hold = f"dog stop left at {dogs}; dog stop front at {dogs}; {CLAMPS}"
    text = job("1.5m", "1.5m", hold=hold, cut="cutter own; rows along grain, edge first")
    yield "96 dogs", {"a.flat": HOUSE % (12, 12) + text}, BUILD


def files() -> Iterator[Input]:
    head = HOUSE % (64, 12) + job("u", "v", "recipe r { takes u, v;")
    names = [f"j{i}" for i in range(550)]
    jobs = [f"job {name} from r {{ u {300 + i}mm; v 300mm }}\n" for i, name in enumerate(names)]
    listed = f"batch all {{ jobs {', '.join(names[:40])}; gap 10mm; from front_left at 80mm, 80mm }}\n"
    yield "a batch of 40 panels", {"a.flat": head + "".join(jobs[:40]) + listed}, BUILD
    for count in (200, 300, 550):
        yield f"{count} jobs of one recipe, check", {"a.flat": head + "".join(jobs[:count])}, CHECK
        yield f"{count} jobs of one recipe, editor", {"a.flat": head + "".join(jobs[:count])}, SERVE
    uses = "".join(f"job {name} from r {{ }}\n" for name in names)
    takes = ", ".join(f"p{i}" for i in range(900))
    yield "parameters x uses of a recipe", {"a.flat": f"recipe r {{ takes {takes} }}\n" + uses}, CHECK
    wrong = {"wrong lines": "recipe r {\n" + "a\n" * 9900 + "}\n"}
    wrong["wrong lines x uses of a recipe"] = "recipe r {\n" + "".join(f"b{i}\n" for i in range(1200)) + "}\n" + uses
    for name, text in wrong.items():
        yield from ((f"{name}, {form}", {"a.flat": text}, [*CHECK, "--message", form]) for form in FORMS)
        yield f"{name}, editor", {"a.flat": text}, SERVE
    odd = {
        "open blocks": "a{" * 10_000,
        "a long line": USE + "job a from plain_top { cut " + "x " * 9000,
        "a number of 19,000 digits": USE + f"job a from plain_top {{ cut {{ depth {'9' * 19_000}mm }} }}",
        "a chain of like": "dog d0 { }\n" + "".join(f"dog d{i + 1} like d{i} {{ }}\n" for i in range(800)),
        "misspelt names": USE + "".join(f"dog low_dgo{i} lkie lwo_dog {{ heigth 3mm }}\n" for i in range(450)),
        "one job 700 times": USE + "job j from plain_top { }\n" * 700,
    }
    for name, text in odd.items():
        for command in (CHECK, ["format", "--check", "a.flat"], ["compare", "a.flat", "b.flat"], SERVE):
            yield f"{name}, {command[0]}", {"a.flat": text, "b.flat": text[: len(text) // 2]}, command
    yield "explain a name of 18 KB", {}, ["explain", "FW1" * 6000]


def programs() -> Iterator[Input]:
    head = "(face first)\nG17 G21 G40 G49 G61 G80 G90 G94\nG57\nG53 G0 Z0\nS14000 M3\nM8\nG4 P4\nX0 Y0\nG1 Z9 F8000\n"
    chance = random.Random(2)
    kinds: dict[str, Callable[[int], str]] = {
        "slopes": lambda i: f"X{chance.randint(0, 900)} Y{chance.randint(0, 500)} Z{-chance.randint(0, 9)}\n",
        "zigzag": lambda i: f"X{900 * (i % 2)} Y{i % 500} Z{-(i % 7) / 10}\n",
        "ramps": lambda i: f"X{900 * (i % 2)} Y{500 * (i // 2 % 2)} Z{-i / 1000:.3f}\n",
        "level diagonals": lambda i: f"X{900 * (i % 2)} Y{i % 500} Z-1\n",
        "rapids": lambda i: f"G0 X{chance.randint(0, 900)} Y{chance.randint(0, 500)} Z{-chance.randint(0, 9)}\n",
    }
    for name, line in kinds.items():
        text = head + "".join(line(i) for i in range(1200)) + "G53 G0 Z0\nM5\nM9\nM30\n"
        made = {"a.flat": USE + "job a from plain_top { }\n", "first.nc": text}
        yield f"verify a program of {name}", made, ["verify", "first.nc", "--job", "a.flat"]


def open_in_editor(process: subprocess.Popen[bytes], folder: Path) -> None:
    """Open a.flat in the language server, wait for its findings, and leave."""
    assert process.stdin is not None and process.stdout is not None
    uri, text = (folder / "a.flat").as_uri(), (folder / "a.flat").read_text()
    opened = {"uri": uri, "languageId": "flatwise", "version": 1, "text": text}
    pulls = {"textDocument": {"diagnostic": {}}}
    asked: list[dict[str, object]] = [
        {"id": 1, "method": "initialize", "params": {"processId": None, "rootUri": None, "capabilities": pulls}},
        {"method": "initialized", "params": {}},
        {"method": "textDocument/didOpen", "params": {"textDocument": opened}},
        {"id": 2, "method": "textDocument/diagnostic", "params": {"textDocument": {"uri": uri}}},
        {"id": 3, "method": "shutdown"},
        {"method": "exit"},
    ]
    for number, message in enumerate(asked):
        data = json.dumps({"jsonrpc": "2.0", **message}).encode()
        process.stdin.write(b"Content-Length: %d\r\n\r\n%s" % (len(data), data))
        process.stdin.flush()
        while number == 3 and (line := process.stdout.readline()):
            if line.lower().startswith(b"content-length:"):
                while process.stdout.readline().strip():
                    pass
                if json.loads(process.stdout.read(int(line.split(b":")[1]))).get("id") == 2:
                    break
    process.stdout.read()


def run(command: list[str], folder: Path) -> tuple[float, float, int]:
    """s of processor, MB and the exit code of a command with all its processes."""
    pipe = subprocess.PIPE if command[-1] == "serve" else subprocess.DEVNULL
    process = subprocess.Popen(command, cwd=folder, stdin=pipe, stdout=pipe, stderr=subprocess.DEVNULL)
    if pipe == subprocess.PIPE:
        open_in_editor(process, folder)
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    return used.ru_utime + used.ru_stime, used.ru_maxrss / 1024, process.returncode


def main() -> None:
    wanted, flatwise = sys.argv[1] if len(sys.argv) > 1 else "", str(Path(sys.executable).with_name("flatwise"))
    print("| input | bytes | s of processor | times loading | MB | exit |\n|---|---|---|---|---|---|")
    for title, made, arguments in (each for part in (panels, files, programs) for each in part()):
        if wanted not in title:
            continue
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            shutil.copytree(ROOT / "shared", folder / "shared")
            (folder / "flatwise.toml").touch()
            for file, text in made.items():
                (folder / file).write_text(text)
            loading = min(run([*LIBRARIES], folder)[0] for _ in range(2))
            took, memory, code = run([flatwise, *arguments], folder)
        over = "**" if took > 5 or memory > 300 else ""
        figures = f"{over}{took:.1f}{over} | {took / loading:.0f} | {memory:.0f} | {code}"
        print(f"| {title} | {sum(map(len, made.values()))} | {figures} |", flush=True)


if __name__ == "__main__":
    main()

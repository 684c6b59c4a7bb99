"""What a person meets: the README's lines, the builds, the sizes, MicroPython's limits."""

from __future__ import annotations

import ast
import re
import subprocess
import sys

import pytest

from tests.stubs.kit_builds import STRICT, STUBS, frame

README = (STUBS / "README.md").read_text()
FLASH_LIMIT, RAM_LIMIT = 3072, 350
SKETCH_BEFORE = """
#include <stdint.h>
void serial_put(uint8_t byte);
uint8_t serial_get(void);
#ifndef ON_THE_BENCH
int32_t tank_mdegc(void);
int32_t setpoint_mdegc(void);
uint32_t millis(void);
void heat(int on);
void set_up(void);
void turn(void);
#endif
"""
SKETCH_AFTER = """
void control(void) { heat(tank_mdegc() < setpoint_mdegc() && millis() > 1000); }
int main(void) { set_up(); for (;;) turn(); }
"""
COMPILERS = {
    "host": ("gcc", *STRICT),
    "avr": ("avr-gcc", "-mmcu=atmega328p", *STRICT),
    "arm": ("arm-none-eabi-gcc", "-mcpu=cortex-m3", "-mthumb", *STRICT),
    "sketch in C++": ("avr-g++", "-mmcu=atmega328p", "-x", "c++", "-std=gnu++11", "-Wall", "-Werror"),
}


def block(language: str) -> str:
    (found,) = re.findall(rf"```{language}\n(.*?)```", README, re.S)
    return found


def make(*words: str) -> str:
    command = ["make", "-C", str(STUBS / "c"), *words]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")
    return done.stdout


@pytest.mark.parametrize("compiler", COMPILERS)
@pytest.mark.parametrize("switch", [("-DON_THE_BENCH",), ()], ids=["bench", "production"])
def test_the_readme_s_c_lines_compile(tmp_path, compiler, switch):
    source = tmp_path / "sketch.c"
    source.write_text(SKETCH_BEFORE + block("c") + SKETCH_AFTER)
    command = [*COMPILERS[compiler], *switch, f"-I{STUBS / 'c'}", "-c", str(source)]
    subprocess.run([*command, "-o", str(tmp_path / "sketch.o")], check=True)


def test_production_build_is_untouched(tmp_path):
    objects = []
    for lines in ("", block("c")):
        source = tmp_path / "sketch.c"
        source.write_text(SKETCH_BEFORE + lines + SKETCH_AFTER)
        subprocess.run(["gcc", *STRICT, "-c", str(source), "-o", str(tmp_path / "sketch.o")], check=True)
        objects.append((tmp_path / "sketch.o").read_bytes())
    assert objects[0] == objects[1]


def test_the_readme_s_c_lines_are_about_twenty():
    assert len(block("c").splitlines()) <= 24


def test_the_readme_s_python_lines_run(capsys):
    sent = [frame(b"go 0"), frame(b"at 100 1=65000"), frame(b"at 200 1=66000"), frame(b"at 3000 1=x")]
    answers = bytearray()

    class Uart:
        write = staticmethod(answers.extend)

        def __init__(self, *_settings):
            pass

        def any(self):
            return True

        def read(self):
            if not sent:
                raise EOFError
            return sent.pop(0)

    code = block("python").replace("from machine import UART\n", "")
    with pytest.raises(EOFError):
        exec(compile(code, "README.md", "exec"), {"UART": Uart})
    bodies = [b"ok 0 1=0", b"ok 100 1=1", b"ok 200 1=0", b"ok 3000 1=0"]
    assert bytes(answers) == b"".join(map(frame, bodies))


def test_avr_kit_keeps_its_size(tmp_path):
    machine, flash, ram = make("-s", f"BUILD={tmp_path}", "size-avr").split()
    assert machine == "avr"
    assert int(flash) <= FLASH_LIMIT
    assert int(ram) <= RAM_LIMIT


def test_size_is_a_table_of_three_machines(tmp_path):
    _, head, *rows = make("-s", f"BUILD={tmp_path}", "size").splitlines()
    assert head.split() == ["machine", "flash_bytes", "ram_bytes"]
    assert [row.split()[0] for row in rows] == ["host", "avr", "arm"]


@pytest.mark.parametrize("panel", ["", "degF"])
def test_every_target_builds(tmp_path, panel):
    make(f"BUILD={tmp_path}", f"PANEL={panel}", "host", "lib", "avr", "arm", "example")
    for name in ("reference", "reference.so", "reference-avr.elf", "reference-arm.elf", "example"):
        assert (tmp_path / name).stat().st_size > 0
    command = [str(tmp_path / "reference")]
    hello = subprocess.run(command, input=frame(b"hi 1"), capture_output=True, check=True)
    unit = b"mdegF" if panel else b"mdegC"
    assert frame(b"in 12 mash_setpoint " + unit) in hello.stdout


def thermostats(tmp_path) -> list[list[str]]:
    make(f"BUILD={tmp_path}", "SAN=1", "example")
    return [[str(tmp_path / "example")], [sys.executable, str(STUBS / "python" / "example_thermostat.py")]]


def test_both_thermostats_heat_alike(tmp_path):
    bodies = [b"hi 1", b"go 0", b"at 250 1=20000 2=66000 3=1", b"at 500 1=66000", b"at 750 1=65700"]
    bodies += [b"at 1000 1=65500", b"at 1250 1=x", b"at 1500 1=20000", b"tick 3501", b"at 3750", b"at 4000"]
    sent = b"".join(map(frame, [*bodies, b"end"]))
    heard = []
    for command in thermostats(tmp_path):
        heard.append(subprocess.run(command, input=sent, capture_output=True, check=True).stdout)
    assert heard[0] == heard[1]
    heat = re.findall(rb"ok \d+ 1=(\d) 2=(\d)", heard[0])
    assert b" ".join(a + b for a, b in heat) == b"00 10 00 00 10 01 10 01 01 10 00"
    assert frame(b"say probe without reading") in heard[0]
    assert frame(b"say line silent") in heard[0]


@pytest.mark.parametrize("name", ["unlit_kit.py", "example_thermostat.py"])
def test_python_kit_keeps_to_what_micropython_has(name):
    """No annotations, f-strings, walrus, match, keyword-only arguments, typing or dataclasses."""
    tree = ast.parse((STUBS / "python" / name).read_text())
    barred = (ast.JoinedStr, ast.NamedExpr, ast.Match, ast.AnnAssign, ast.AsyncFunctionDef, ast.TryStar)
    modules = {"binascii", "sys", "os", "unlit_kit"}
    for node in ast.walk(tree):
        assert not isinstance(node, barred)
        if isinstance(node, ast.FunctionDef):
            arguments = [*node.args.args, *node.args.posonlyargs]
            assert not node.args.kwonlyargs
            assert not node.args.posonlyargs
            assert node.returns is None
            assert all(argument.annotation is None for argument in arguments)
        if isinstance(node, ast.Import):
            assert {each.name for each in node.names} <= modules
        if isinstance(node, ast.ImportFrom):
            assert node.module in modules
        if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Mod):
            assert not (isinstance(node.left, ast.Constant) and isinstance(node.left.value, bytes))


def test_kit_s_own_crc_is_the_catalogue_s():
    """CRC catalogue, CRC-16/IBM-3740: the check value, of the code that runs where binascii has none."""
    tree = ast.parse((STUBS / "python" / "unlit_kit.py").read_text())
    (own,) = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef) and "crc" in node.name]
    names: dict = {}
    exec(compile(ast.Module([own], []), "unlit_kit.py", "exec"), names)
    assert names["crc_hqx"](b"123456789", 0xFFFF) == 0x29B1

"""The kits, built once."""

from __future__ import annotations

import pytest

from tests.stubs.arduino_core import build_core
from tests.stubs.kit_builds import SANITIZE, CChild, CLibrary, PythonKit, compile_app

APP = "dialogue_app.c"
WALL = "-DWALL_PACE"


@pytest.fixture(scope="session")
def kits(tmp_path_factory):
    """{pace: {kit name: kit}}; the first of each is the Python kit."""
    build = tmp_path_factory.mktemp("kits")
    found = {}
    for pace, flags in (("lockstep", ()), ("wall", (WALL,))):
        library = compile_app(build / f"{pace}.so", APP, "port_lib.c", "-O2", "-shared", "-fPIC", *flags)
        child = compile_app(build / pace, APP, "port_host.c", *SANITIZE, *flags)
        found[pace] = {
            "python": PythonKit(wall=pace == "wall"),
            "c library": CLibrary(library),
            "c sanitized": CChild(child),
        }
    return found


@pytest.fixture(scope="session")
def core(tmp_path_factory):
    """The Arduino core, core.a."""
    return build_core(tmp_path_factory.mktemp("core"))

"""Machine code is kept under its sources, read where nothing may be written, and never made by a request."""

import importlib
import importlib.util
import subprocess
import sys

import numpy as np
import pytest

from showplan import machine_code
from showplan.geometry.rays_through import add_crossed, find_shares
from showplan.geometry.shadow_rows import sum_rows
from showplan.machine_code import MachineCode

SOURCE = "def double(number):\n    return 2 * number\n"


def function_of(source):
    spec = importlib.util.spec_from_file_location("of_the_test", source)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module.double


def test_what_was_compiled_is_read_again_until_a_source_changes(tmp_path, monkeypatch) -> None:
    monkeypatch.setattr(machine_code, "KEPT_IN", tmp_path / "kept")
    source, other = tmp_path / "of_the_test.py", tmp_path / "called.py"
    source.write_text(SOURCE)
    other.write_text("")
    first, again = (MachineCode(source, other).compiled(function_of(source)) for _ in range(2))
    assert (first(2), again(2)) == (4, 4)
    assert (first.stats.cache_hits.total(), again.stats.cache_hits.total()) == (0, 1)
    before = MachineCode(source, other)
    assert not before.is_ready
    before.set_ready()
    assert before.is_ready
    other.write_text("# changed")
    assert not MachineCode(source, other).is_ready


def test_where_nothing_can_be_written_it_is_compiled_in_the_process(tmp_path, monkeypatch) -> None:
    (tmp_path / "file").write_text("")
    monkeypatch.setattr(machine_code, "KEPT_IN", tmp_path / "file" / "kept")
    source = tmp_path / "of_the_test.py"
    source.write_text(SOURCE)
    code = MachineCode(source)
    assert code.compiled(function_of(source))(3) == 6
    code.set_ready()
    assert not code.is_ready


@pytest.mark.parametrize("function", [sum_rows, add_crossed, find_shares])
def test_no_call_compiles(function) -> None:
    whole_numbers = [np.zeros(1, np.int64)] * len(function.signatures[0])
    with pytest.raises(TypeError, match="No matching definition"):
        function(*whole_numbers)


def test_who_imports_the_planner_need_not_wait_for_it() -> None:
    script = "import sys, showplan.planner.readiness, showplan.planner.coverage; sys.exit('numba' in sys.modules)"
    subprocess.run([sys.executable, "-c", script], check=True, timeout=120)


@pytest.mark.filterwarnings("ignore:No directory at")
def test_the_server_loads_it_before_its_first_request(monkeypatch) -> None:
    loaded = []
    monkeypatch.setattr("showplan.geometry.compiled.load", lambda: loaded.append(True))
    monkeypatch.delitem(sys.modules, "showplan.wsgi", raising=False)
    importlib.import_module("showplan.wsgi")
    assert loaded

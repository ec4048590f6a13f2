"""The script in deploy/ that people copy from does what it says, against a real server."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from showplan.records.models import Project
from tests.api.client import token_for
from tests.tours import a_user

SCRIPT = Path(__file__).parents[2] / "deploy" / "example_script.py"


def run_script(url: str, token: str) -> "subprocess.CompletedProcess[str]":
    """Run it as somebody would on another machine: with nothing of this project's settings."""
    environment = {name: value for name, value in os.environ.items() if not name.startswith("SHOWPLAN_")}
    environment |= {"PLAN_URL": url, "PLAN_TOKEN": token}
    command = [sys.executable, "-I", str(SCRIPT)]
    return subprocess.run(command, env=environment, capture_output=True, text=True, timeout=120, check=False)


@pytest.mark.django_db(transaction=True)
def test_the_script_makes_plans_changes_exports_and_imports(live_server) -> None:
    ended = run_script(live_server.url, token_for(a_user("odile-owner")))
    assert (ended.stderr, ended.returncode) == ("", 0)
    assert "the same fingerprint before and after" in ended.stdout
    projects = list(Project.objects.filter(name="Lanterns by script"))
    assert [project.nodes.count() for project in projects] == [21, 21]
    assert len(SCRIPT.read_text(encoding="utf-8").splitlines()) < 120


@pytest.mark.django_db(transaction=True)
def test_a_refusal_ends_it_in_words(live_server) -> None:
    ended = run_script(live_server.url, token_for(a_user("odile-owner"), scopes=("read",)))
    assert ended.returncode == 1
    assert "POST projects/: 403: this needs a token with the scope 'write'" in ended.stderr


def test_the_readme_prints_the_script_as_it_is() -> None:
    script = SCRIPT.read_text(encoding="utf-8")
    readme = SCRIPT.parent.parent / "README.md"
    assert f"```python\n{script}```" in readme.read_text(encoding="utf-8")

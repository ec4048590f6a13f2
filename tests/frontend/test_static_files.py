"""Production serves copies with hashed names: every file must survive the renaming."""

import re
from pathlib import Path

import pytest
from django.contrib.staticfiles import finders
from django.core.management import call_command
from django.test import override_settings

from tests.frontend.pages import signed_in

STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
}


@pytest.mark.django_db
def test_every_page_finds_its_hashed_files(tmp_path, tour, owner):
    with override_settings(STORAGES=STORAGES, STATIC_ROOT=tmp_path, WHITENOISE_AUTOREFRESH=False):
        call_command("collectstatic", interactive=False, verbosity=0)
        html = signed_in(owner).get(f"/venues/{tour.venue.pk}/").content.decode()
    files = re.findall(r'(?:href|src)="/static/([^"]+)"', html)
    assert len(files) >= 7
    for name in files:
        assert re.search(r"\.[0-9a-f]{12}\.\w+$", name), name
        assert (tmp_path / name).is_file()


def test_no_script_imports_another_file():
    """An import of ours would name a file that hashing has renamed."""
    found = finders.find("frontend/js/venue-plan.js")
    assert found is not None
    for script in Path(found).parent.glob("*.js"):
        assert not re.search(r"^\s*(import|export)\b|\bimport\(", script.read_text(encoding="utf-8"), re.MULTILINE)


def test_style_sheets_fetch_nothing_from_elsewhere():
    found = finders.find("frontend/css/page.css")
    assert found is not None
    for sheet in Path(found).parent.glob("*.css"):
        assert "url(" not in sheet.read_text(encoding="utf-8")

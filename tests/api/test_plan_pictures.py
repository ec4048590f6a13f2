"""Plan pictures: what is taken and what is refused, who may, what is stored, and that undo brings one back."""

import io

import pytest
from django.core.files.storage import default_storage
from django.test import Client
from PIL import Image

from showplan.records.models import Change, Level
from tests.api.client import api_for, problem, version_tag
from tests.pictures import a_picture, claiming, with_metadata

pytestmark = pytest.mark.django_db
PNG = "image/png"


@pytest.fixture(autouse=True)
def _files_of_its_own(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture
def hall(tour) -> Level:
    return tour.venue.levels.get(name="Hall")


@pytest.fixture
def address(tour, hall) -> str:
    return f"/api/v1/venues/{tour.venue.pk}/levels/{hall.pk}/plan-picture/"


def _put(api, address, content, version=1, media_type=PNG):
    return api.send("PUT", address, content, media_type, If_Match=version_tag(version))


def _files() -> list[str]:
    return default_storage.listdir("plan-pictures")[1] if default_storage.exists("plan-pictures") else []


@pytest.mark.parametrize(("kind", "media_type"), [("PNG", PNG), ("JPEG", "image/jpeg"), ("WEBP", "image/webp")])
def test_a_picture_is_stored_and_served_as_what_it_is(owner_api, address, kind, media_type):
    response = _put(owner_api, address, a_picture(kind), media_type="image/png")  # the content decides, not the label
    assert response.status_code == 200, response.content
    assert response["ETag"] == '"2"'
    assert response.json()["plan_metres_per_pixel"] == 40 / 80  # as wide as the level
    served = owner_api.get(address)
    assert served["Content-Type"] == media_type
    assert served["X-Content-Type-Options"] == "nosniff"
    assert "private" in served["Cache-Control"]
    assert Image.open(io.BytesIO(served.content)).size == (80, 40)


def test_a_scale_that_is_set_already_stays(owner_api, address, tour, hall):
    level = f"/api/v1/venues/{tour.venue.pk}/levels/{hall.pk}/"
    owner_api.patch(level, {"plan_metres_per_pixel": 0.02}, 1)
    assert _put(owner_api, address, a_picture(), 2).json()["plan_metres_per_pixel"] == 0.02


def test_what_the_camera_wrote_is_gone_and_the_picture_upright(owner_api, address):
    assert b"4711" in with_metadata()
    _put(owner_api, address, with_metadata(), media_type="image/jpeg")
    served = owner_api.get(address).content
    assert b"4711" not in served
    picture = Image.open(io.BytesIO(served))
    assert picture.size == (40, 80)
    assert not picture.getexif()


@pytest.mark.parametrize(
    ("content", "words"),
    [
        pytest.param(b"only words", "no PNG, JPEG or WebP", id="text"),
        pytest.param(b"", "no PNG, JPEG or WebP", id="empty"),
        pytest.param(b'<svg xmlns="http://www.w3.org/2000/svg"><script/></svg>', "no PNG, JPEG or WebP", id="svg"),
        pytest.param(a_picture("GIF"), "no PNG, JPEG or WebP", id="gif"),
        pytest.param(a_picture("PNG", (300, 300))[:-60], "cut off or broken", id="truncated png"),
        pytest.param(a_picture("JPEG", (300, 300))[:-200], "cut off or broken", id="truncated jpeg"),
        pytest.param(claiming(8000, 6000), "too many pixels", id="48 million pixels"),
        pytest.param(claiming(12_000, 10_000), "too many pixels", id="120 million pixels"),
        pytest.param(claiming(60_000, 60_000), "too many pixels", id="3600 million pixels"),
        pytest.param(claiming(300, 300), "cut off or broken", id="pixels missing"),
    ],
)
def test_what_is_no_sound_picture_is_refused_and_leaves_nothing(owner_api, address, hall, content, words):
    document = problem(_put(owner_api, address, content), 422, "invalid-input")
    assert document["errors"][0]["pointer"] == "/plan_picture"
    assert words in document["errors"][0]["detail"]
    hall.refresh_from_db()
    assert (hall.version, bool(hall.plan_picture), _files()) == (1, False, [])


def test_more_than_8_mb_is_413_and_another_media_type_415(owner_api, address):
    problem(_put(owner_api, address, b"\0" * 8_000_001), 413)
    problem(_put(owner_api, address, a_picture(), media_type="text/plain"), 415)


def test_it_needs_the_version_and_a_stale_one_leaves_no_file(owner_api, address):
    problem(owner_api.send("PUT", address, a_picture(), PNG), 428)
    document = problem(_put(owner_api, address, a_picture(), 7), 412, "stale-write")
    assert document["current"]["name"] == "Hall"
    assert _files() == []
    assert _put(owner_api, address, a_picture(), 1).status_code == 200


def test_who_may(owner_api, editor_api, viewer_api, outsider_api, anonymous_api, owner, address):
    assert (
        "is viewer; this needs the role owner or editor"
        in problem(_put(viewer_api, address, a_picture()), 403)["detail"]
    )
    problem(_put(outsider_api, address, a_picture()), 404)
    problem(_put(anonymous_api, address, a_picture()), 401)
    problem(_put(api_for(owner, scopes=("read",)), address, a_picture()), 403)
    assert _put(editor_api, address, a_picture()).status_code == 200
    assert viewer_api.get(address).status_code == 200
    problem(outsider_api.get(address), 404)
    problem(anonymous_api.get(address), 401)
    problem(viewer_api.delete(address, 2), 403)
    assert owner_api.delete(address, 2).status_code == 200


def test_a_session_must_send_the_token_against_forged_calls(owner, address):
    client = Client(enforce_csrf_checks=True)
    client.force_login(owner)
    call = {"data": a_picture(), "content_type": PNG}
    refused = client.put(address, **call, headers={"If-Match": '"1"'})
    assert refused.status_code == 403
    assert "CSRF" in refused.json()["detail"]
    client.get(f"/venues/{address.split('/')[4]}/plan/")
    token = client.cookies["csrftoken"].value
    taken = client.put(address, **call, headers={"If-Match": '"1"', "X-CSRFToken": token})
    assert taken.status_code == 200, taken.content


def test_history_names_the_files_and_undo_brings_the_earlier_one_back(owner_api, address, tour, hall):
    _put(owner_api, address, a_picture(size=(80, 40)), 1)
    hall.refresh_from_db()
    first = hall.plan_picture.name
    response = _put(owner_api, address, a_picture(size=(60, 30)), 2)
    change = Change.objects.get(revision=int(response["Showplan-Revision"]))
    assert change.before == {"plan_picture": first}
    assert change.after["plan_picture"] != first
    assert sorted(_files()) == sorted(name.rpartition("/")[2] for name in (first, change.after["plan_picture"]))
    owner_api.post(f"/api/v1/projects/{tour.project.pk}/undo/", {"revision": change.revision})
    assert Image.open(io.BytesIO(owner_api.get(address).content)).size == (80, 40)


def test_taken_away_it_is_404_and_undo_brings_it_back(owner_api, address, tour):
    problem(owner_api.delete(address, 1), 404)
    _put(owner_api, address, a_picture())
    gone = owner_api.delete(address, 2)
    problem(owner_api.get(address), 404)
    owner_api.post(f"/api/v1/projects/{tour.project.pk}/undo/", {"revision": int(gone["Showplan-Revision"])})
    assert owner_api.get(address).status_code == 200


def test_no_public_address_leads_to_the_file(owner_api, address, hall, client):
    _put(owner_api, address, a_picture())
    hall.refresh_from_db()
    for base in ("/media/", "/static/", "/"):
        assert client.get(f"{base}{hall.plan_picture.name}").status_code in (302, 404)


def test_the_pages_show_it_to_members_only(owner_api, address, tour, hall, viewer, outsider):
    _put(owner_api, address, a_picture())
    page = f"/venues/{tour.venue.pk}/levels/{hall.pk}/picture/"
    client = Client()
    assert client.get(page).status_code == 302
    client.force_login(outsider)
    assert client.get(page).status_code == 404
    client.force_login(viewer)
    assert client.get(page)["Content-Type"] == PNG
    assert page in client.get(f"/venues/{tour.venue.pk}/").content.decode()

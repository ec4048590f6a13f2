"""The calibration page: predicted against measured, what is kept, planning with it and going back."""

import pytest

from frontend.present.words import moment
from showplan.records.models import Calibration, Reading, Venue
from showplan.services.calibrating import fit_venue
from tests.frontend.editing.desk import forged, forms_of, send
from tests.frontend.pages import signed_in, words_of
from tests.frontend.radio import walk_test

pytestmark = pytest.mark.django_db


@pytest.fixture
def address(tour, owner):
    """The page of a venue with a walk test."""
    walk_test(tour, owner)
    return f"/venues/{tour.venue.pk}/calibration/"


def test_errors_and_coefficients_are_the_fits(address, viewer, tour):
    fitted = fit_venue(tour.venue, "Show")
    words = words_of(signed_in(viewer).get(address)).replace("−", "-")
    assert f"error (RMS) {fitted.rms_before_db:.1f} dB {fitted.rms_after_db:.1f} dB" in words
    assert f"loss at 1 m {fitted.reference_loss_db:.2f} dB" in words
    exponent = fitted.coefficients[1]
    assert f"path-loss exponent {exponent.value:.2f} ± {exponent.standard_error:.2f} {exponent.prior:.2f} ±" in words
    for finding in fitted.findings:
        assert finding.sentence.replace("−", "-") in words


def test_every_reading_is_in_the_table_under_both_models(address, viewer, tour):
    fitted = fit_venue(tour.venue, "Show")
    words = words_of(signed_in(viewer).get(address)).replace("−", "-")
    for one in (one for one in fitted.readings if one.state == "used"):
        before_db, after_db = (level_dbm - one.received_dbm for level_dbm in (one.before_dbm, one.after_dbm))
        measured = f"{one.distance_m:.1f} m {one.received_dbm:.1f} dBm"
        models = f"{one.before_dbm:.1f} dBm {before_db:.1f} dB {one.after_dbm:.1f} dBm {after_db:.1f} dB"
        assert f"{measured} {models}" in words


@pytest.mark.parametrize(
    ("text", "said"),
    [("2026-08-24T21:10:00+00:00", "24 Aug 2026, 21:10 UTC"), ("2026-08-24", "24 Aug 2026, 00:00"), ("dusk", "dusk")],
)
def test_a_time_is_said_as_people_write_it(text, said):
    assert moment(text) == said


def test_every_reading_received_is_drawn_under_both_models_and_outliers_are_ringed(address, viewer, tour):
    fitted = fit_venue(tour.venue, "Show")
    outliers = [one for one in fitted.findings if one.code == "reading-stands-out"]
    assert outliers
    html = signed_in(viewer).get(address).content.decode()
    drawing = html[html.index('class="scatter"') : html.index("</svg>", html.index('class="scatter"'))]
    assert drawing.count('class="spot present"') == drawing.count('class="spot calibrated"') == 8
    assert drawing.count('class="spot outlier"') == len(outliers)


def test_a_reading_left_out_is_named_with_its_reason(address, viewer, tour):
    first = Reading.objects.order_by("taken_at").first()
    assert first is not None
    Reading.objects.filter(pk=first.pk).update(received_dbm=None, packet_error=0.0)
    left_out = [one for one in fit_venue(tour.venue, "Show").readings if one.state == "left out"]
    assert len(left_out) == 1
    assert f"{left_out[0].name}: {left_out[0].reason}" in words_of(signed_in(viewer).get(address))


def test_an_editor_plans_with_it_goes_back_and_to_the_tables(address, editor, tour):
    client = signed_in(editor)
    for number in (1, 2):
        response = send(client, client.get(address), address)
        assert (response.status_code, response.url) == (302, address)
        assert f"The plan is made with calibration {number} from now on." in words_of(client.get(address))
    assert Calibration.objects.get(is_applied=True).name == "calibration 2"
    page = client.get(address)
    assert "This venue is planned with calibration 2" in words_of(page)
    back = next(i for i, form in enumerate(forms_of(page)) if form["fields"]["do"] == "use")
    send(client, page, address, nth=back)
    assert Calibration.objects.get(is_applied=True).name == "calibration 1"
    page = client.get(address)
    tables = next(i for i, form in enumerate(forms_of(page)) if form["fields"]["do"] == "tables")
    send(client, page, address, nth=tables)
    assert not Calibration.objects.filter(is_applied=True).exists()
    assert "This venue is planned with the tables alone." in words_of(client.get(address))


def test_a_viewer_sees_all_and_changes_nothing(address, viewer):
    client = signed_in(viewer)
    assert not forms_of(client.get(address))
    for fields in ({"do": "apply", "network": "Show"}, {"do": "use", "name": "x"}, {"do": "tables"}):
        assert forged(client, address, **fields).status_code == 403
    assert not Calibration.objects.exists()


def test_an_outsider_meets_404(address, outsider):
    client = signed_in(outsider)
    assert client.get(address).status_code == 404
    assert forged(client, address, do="apply", network="Show").status_code == 404


def test_a_forged_form_changes_nothing(address, editor):
    assert signed_in(editor).post(address, {"do": "apply", "network": "Show"}).status_code == 403
    assert not Calibration.objects.exists()


def test_readings_that_give_no_calibration_say_why(address, editor):
    client = signed_in(editor)
    Reading.objects.update(received_dbm=10.0)
    page = client.get(address)
    assert page.status_code == 200
    assert "These readings give no calibration yet:" in words_of(page)
    assert "more than 'N0' sends" in words_of(page)
    refused = forged(client, address, do="apply", network="Show")
    assert refused.status_code == 409
    assert "Nothing was changed." in words_of(refused)
    assert not Calibration.objects.exists()


def test_a_calibration_needs_the_model_it_was_fitted_to(address, editor, tour):
    client = signed_in(editor)
    send(client, client.get(address), address)
    forged(client, address, do="tables")
    Venue.objects.filter(pk=tour.venue.pk).update(path_loss_model="free-space")
    refused = forged(client, address, do="use", name="calibration 1")
    assert refused.status_code == 409
    assert "choose that for the venue first" in words_of(refused)


@pytest.mark.parametrize(
    ("fields", "status"), [({"do": "use", "name": "none such"}, 404), ({"do": "dance"}, 409), ({}, 409)]
)
def test_a_button_that_is_not_there(address, editor, fields, status):
    assert forged(signed_in(editor), address, **fields).status_code == status


def test_a_network_without_readings_is_404_and_no_readings_are_a_page(address, tour, owner):
    client = signed_in(owner)
    assert "there is: Show" in words_of(client.get(address, {"network": "Reserve"}))
    Reading.objects.all().delete()
    words = words_of(client.get(address))
    assert "A calibration needs readings of a network" in words
    assert "None yet." in words

"""The spectrum page: bands in words and drawn, the channel plan, and taking it."""

import pytest

from frontend.present.strips import strip_of
from showplan.records.models import ChannelChoice, Network, Venue
from showplan.services.planning import plan_venue
from showplan.services.spectrum import channels_for, spectrum_strips
from tests.frontend.editing.desk import forged, forms_of, send
from tests.frontend.pages import signed_in, words_of
from tests.frontend.radio import taken
from tests.tours import a_venue

pytestmark = pytest.mark.django_db


@pytest.fixture
def address(tour, owner):
    """The page of a venue where the show's radio channel is taken."""
    taken(tour, owner)
    return f"/venues/{tour.venue.pk}/spectrum/"


def test_the_band_is_said_in_words(address, owner):
    words = words_of(signed_in(owner).get(address))
    assert "camera link: 2473 to 2477 MHz, −60 dBm" in words
    assert "house Wi-Fi: 2462 to 2482 MHz, its level is not measured" in words
    assert "Show: radio channel 25, 2474 to 2476 MHz" in words


def test_every_radio_channel_is_drawn_and_says_who_takes_it(address, owner, tour):
    html = signed_in(owner).get(address).content.decode()
    [strip] = spectrum_strips(tour.venue)
    assert html.count("<title>radio channel ") == len(strip["channels"]) == 16
    assert "radio channel 25, 2475 MHz: taken by camera link, house Wi-Fi; ours: Show" in html
    assert "radio channel 11, 2405 MHz: free" in html


def test_the_channel_plan_is_the_planners(address, owner, tour):
    plan = channels_for(tour.venue)
    [choice] = plan.choices
    assert not choice.is_kept
    words = words_of(signed_in(owner).get(address))
    assert f"proven best of {plan.combinations} combinations" in words
    assert f"Show 25 {choice.radio_channel} {choice.frequency_mhz:g} MHz" in words
    assert choice.reason in words


def test_an_editor_takes_the_channels_by_the_button(address, editor, tour):
    client = signed_in(editor)
    page = client.get(address)
    [best] = channels_for(tour.venue).choices
    assert forms_of(page)
    response = send(client, page, address)
    assert (response.status_code, response.url) == (302, address)
    taken_now = ChannelChoice.objects.get(venue=tour.venue)
    assert (taken_now.network.name, taken_now.radio_channel) == ("Show", best.radio_channel)
    assert Network.objects.get(name="Show").radio_channel == 25
    words = words_of(client.get(address))
    assert "The best radio channels are in use here: 1 network changed." in words
    assert "The networks have their best radio channels already." in words
    assert not forms_of(client.get(address))


def test_a_viewer_sees_all_and_cannot_take_them(address, viewer, tour):
    client = signed_in(viewer)
    page = client.get(address)
    assert "proven best of" in words_of(page)
    assert not forms_of(page)
    refused = forged(client, address)
    assert refused.status_code == 403
    assert "your role in 'Lantern walk' is viewer" in words_of(refused).replace("Your", "your")
    assert not ChannelChoice.objects.exists()


def test_a_forged_form_changes_nothing(address, editor):
    assert signed_in(editor).post(address).status_code == 403
    assert not ChannelChoice.objects.exists()


def test_an_outsider_meets_404(address, outsider):
    client = signed_in(outsider)
    assert client.get(address).status_code == 404
    assert forged(client, address).status_code == 404


def test_a_region_that_lists_no_channel_says_so(tour, owner):
    Network.objects.filter(name="Show").update(phy="oqpsk-915", radio_channel=9)
    tour.venue.project.node_types.update(phy="oqpsk-915")
    Venue.objects.filter(pk=tour.venue.pk).update(region="eu")
    words = words_of(signed_in(owner).get(f"/venues/{tour.venue.pk}/spectrum/"))
    assert "stop network Show No allowed radio channel:" in words
    assert "The region lists no radio channel of this band." in words
    assert "Free radio channels" not in words
    assert "radio channel that the region does not list: not to be used" in words
    html = signed_in(owner).get(f"/venues/{tour.venue.pk}/spectrum/").content.decode()
    drawn = html[html.index('<svg class="strip"') : html.index('class="strip-key"')]
    assert drawn.count('class="radio-channel') == drawn.count("unlisted-channel") == 10


def test_a_venue_without_nodes_still_has_a_page(tour, owner):
    bare = a_venue(tour.project, owner, "Bare")
    words = words_of(signed_in(owner).get(f"/venues/{bare.pk}/spectrum/"))
    assert "No network has a node here yet" in words


def test_spans_and_channels_lie_in_order_on_the_sheet_and_names_do_not_meet(address, tour):
    [band] = spectrum_strips(plan_venue(tour.venue).venue)
    strip = strip_of(band, {25: ["Show"]}, ["words"] * len(band["channels"]))
    places = [float(one.middle) for one in strip.channels]
    assert places == sorted(places)
    assert all(float(one.x) >= 0 and float(one.x) + float(one.width) <= 1000 for one in (*strip.bars, *strip.channels))
    lanes = [one.text_y for one in strip.bars]
    assert len(set(lanes)) == len(lanes)  # all three reach over each other here

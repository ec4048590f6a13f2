"""The formula catalogue and the quick sum."""

import pytest

from showplan.physics.catalogue import catalogue
from tests.frontend.pages import signed_in, words_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def get(owner):
    """GET as a signed-in user."""
    client = signed_in(owner)
    return lambda address, **query: client.get(address, query)


def test_every_formula_is_listed_once_with_its_source(get):
    response = get("/formulas/")
    html, words = response.content.decode(), words_of(response)
    for name, formula in catalogue().items():
        assert html.count(f'href="/formulas/{name}/"') == 1
        assert formula.source.document in words
    assert f"{len(catalogue())} published formulas" in words


def test_every_formula_has_a_page_with_its_parameters(get):
    for name, formula in catalogue().items():
        response = get(f"/formulas/{name}/")
        words = words_of(response)
        assert response.status_code == 200
        assert formula.expression in words
        for parameter in formula.parameters:
            assert parameter.meaning in words
        assert 'role="alert"' not in response.content.decode()


def test_a_sum_is_worked_out_with_its_unit(get):
    words = words_of(get("/formulas/free_space_loss_db/", distance_m="100", frequency_mhz="2400"))
    # ITU-R P.525, form from memory: 20 log10(d/m) + 20 log10(f/MHz) - 27.5522 dB = 40 + 67.6042 - 27.5522.
    assert "80.052 dB" in words


def test_defaults_count_for_what_is_left_empty(get):
    name, formula = next(
        (name, one) for name, one in catalogue().items() if any(p.default is not None for p in one.parameters)
    )
    query = {p.name: "" if p.default is not None else f"{p.low or p.minimum or 1:g}" for p in formula.parameters}
    assert 'role="status"' in get(f"/formulas/{name}/", **query).content.decode()


def test_a_true_minus_sign_is_a_minus(get):
    words = words_of(get("/formulas/mw_from_dbm/", power_dbm="−10"))
    assert "0.1 mW" in words


def test_every_fault_stands_at_its_field(get):
    response = get("/formulas/free_space_loss_db/", distance_m="far", frequency_mhz="-3", colour="red")
    html, words = response.content.decode(), words_of(response)
    assert "Not worked out: 3 to correct." in words
    assert "colour is not a parameter of this formula; known: distance_m, frequency_mhz" in words
    assert html.count('aria-invalid="true"') == 2
    for name, fault in (
        ("distance_m", "&#x27;far&#x27; is not a finite number"),
        ("frequency_mhz", "must be more than 0"),
    ):
        field = html[html.index(f'id="fault-{name}"') :]
        assert fault in field[: field.index("</p>")]
    assert 'value="far"' in html


def test_a_missing_value_is_a_fault(get):
    words = words_of(get("/formulas/free_space_loss_db/", distance_m="10", frequency_mhz=""))
    assert "Not worked out: 1 to correct." in words
    assert "is missing; give a number in MHz" in words


def test_outside_the_validity_range_is_a_warning_not_a_refusal(get):
    words = words_of(get("/formulas/free_space_loss_db/", distance_m="10", frequency_mhz="9000"))
    assert "frequency_mhz = 9000 MHz is above 6000, outside the validity range" in words
    assert "71.5326 dB" in words


def test_how_far_a_source_can_be_trusted_is_said_in_words(get):
    for name, formula in catalogue().items():
        words = words_of(get(f"/formulas/{name}/"))
        assert ("from memory: have it checked" in words) == (formula.source.standing == "memory")


def test_an_unknown_formula_is_404_with_the_nearest_name(get):
    response = get("/formulas/free_space_loss/")
    assert response.status_code == 404
    assert "did you mean free_space_loss_db" in words_of(response)

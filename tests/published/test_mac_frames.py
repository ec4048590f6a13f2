"""Octets of MAC frames. Source: IEEE 802.15.4-2006 clause 7.2, read in public source files; sums derived."""

import pytest

from showplan.physics.mac_frames import any_lost, mac_header_octets, packets_per_frame, payload_limit_octets


@pytest.mark.parametrize(
    ("destination", "source", "pans", "octets", "payload"),
    # a public simulator's tests confirm 9 and 11
    [
        (0, 0, 1, 3, 122),
        (2, 0, 1, 7, 118),
        (2, 2, 1, 9, 116),
        (2, 2, 2, 11, 114),
        (8, 2, 1, 15, 110),
        (8, 8, 1, 21, 104),
        (8, 8, 2, 23, 102),
    ],
)
def test_header_and_payload(destination, source, pans, octets, payload):
    assert mac_header_octets(destination, source, pans) == octets
    assert payload_limit_octets(127, octets) == payload


@pytest.mark.parametrize(
    ("header", "auxiliary", "mic", "payload"),
    # an essay on 127-octet frames prints 81 octets for the last of the long addresses
    [(23, 5, 4, 93), (23, 5, 8, 89), (23, 5, 16, 81), (9, 6, 4, 106)],
)
def test_security(header, auxiliary, mic, payload):
    assert payload_limit_octets(127, header, auxiliary + mic) == payload


def test_pieces():
    # a public teaching page: two fragments at 3 % loss lose 5.9 % of the messages
    assert any_lost(0.03, 2) == pytest.approx(0.0591, abs=0.00001)
    assert packets_per_frame(480, 112) == 5

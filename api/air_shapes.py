"""Shapes of what the planner says of the show's data, for the API's description."""

from typing import Any

from rest_framework import serializers as s

from api.plan_shapes import Stamped


class RateLimit(s.Serializer[Any]):
    """One thing that caps the refresh rate; hz is null where it sets no limit."""

    name = s.ChoiceField(choices=["feed", "gateway", "air", "duty", "buffer"])
    hz = s.FloatField(allow_null=True)
    reason = s.CharField()


class TimePart(s.Serializer[Any]):
    """One part of the way from the feed to an output."""

    name = s.CharField()
    mean_ms = s.FloatField()
    longest_ms = s.FloatField()


class Latency(s.Serializer[Any]):
    """Reached by 50, 95 and 99 % of the frames."""

    p50_ms = s.FloatField(allow_null=True)
    p95_ms = s.FloatField(allow_null=True)
    p99_ms = s.FloatField(allow_null=True)


class NodeAir(s.Serializer[Any]):
    """One node on its radio channel; shares are from 0 to 1."""

    label = s.CharField()
    role = s.CharField()
    slots = s.IntegerField()
    packets_per_s = s.FloatField(allow_null=True)
    sending_share = s.FloatField(allow_null=True)
    sending_limit = s.FloatField()
    channel_load = s.FloatField(allow_null=True)
    overheard_share = s.FloatField(allow_null=True)
    others_share = s.FloatField()
    delivery = s.FloatField()
    hops = s.IntegerField(allow_null=True)
    latency = Latency(allow_null=True)
    parts = TimePart(many=True)
    longest_stale_s = s.FloatField(allow_null=True)
    signal_losses_per_hour = s.FloatField(allow_null=True)
    buffer_octets = s.IntegerField()
    buffer_needed_octets = s.FloatField(allow_null=True)
    buffer_headroom_octets = s.FloatField(allow_null=True)
    on_signal_loss = s.ChoiceField(choices=["hold", "fade-out", "switch-off"])
    signal_lost_after_s = s.FloatField()


class Cue(s.Serializer[Any]):
    """A frame in which levels change: when, and what share of them."""

    at_s = s.FloatField()
    share = s.FloatField()


class Changes(s.Serializer[Any]):
    """Shares, 0 to 1, of the levels that change in a frame; the busiest second begins at `peak_at_s`."""

    mean = s.FloatField()
    p95 = s.FloatField(help_text="95 % of the seconds have no more")
    peak = s.FloatField(help_text="in the busiest second")
    peak_at_s = s.FloatField()
    cues = s.IntegerField(help_text="frames in which anything changes")
    largest_cues = Cue(many=True, help_text="the ten that change most, the largest first")


class TimelineLoad(s.Serializer[Any]):
    """What a timeline makes of the load: all other figures hold for its busiest second, these as a mean."""

    timeline = s.CharField()
    slots = s.IntegerField(help_text="slots in use here to which it gives a level")
    changes = Changes()
    mean_packets = s.FloatField()
    mean_air_time_ms = s.FloatField()
    mean_utilisation = s.FloatField()


class NetworkAir(s.Serializer[Any]):
    """The show's data on one network; `traffic` and `feed` are those of the Scene, or the usual ones.

    With a timeline everything holds for its busiest second.
    """

    network = s.CharField()
    phy = s.CharField()
    traffic = s.DictField()
    feed = s.DictField()
    is_traffic_entered = s.BooleanField()
    is_feed_entered = s.BooleanField()
    slots = s.IntegerField()
    packets = s.FloatField()
    packet_levels = s.IntegerField()
    air_time_ms = s.FloatField()
    cycle_ms = s.FloatField()
    wanted_hz = s.FloatField()
    refresh_hz = s.FloatField(allow_null=True)
    sent_hz = s.FloatField(allow_null=True)
    limit = RateLimit()
    limits = RateLimit(many=True)
    utilisation = s.FloatField(allow_null=True)
    channel_utilisation = s.FloatField(allow_null=True)
    stream_octets_per_s = s.FloatField(allow_null=True)
    sustained_octets_per_s = s.FloatField(allow_null=True)
    hidden_relays = s.ListField(child=s.ListField(child=s.CharField()))
    relay_clear = s.FloatField()
    energy_mj = s.FloatField()
    nodes = NodeAir(many=True)
    where_the_time_goes = TimePart(many=True)
    timeline = TimelineLoad(allow_null=True)
    fits = s.BooleanField()
    estimate_is_valid = s.BooleanField()


class Air(Stamped):
    """Does the data fit, network by network."""

    house = s.ChoiceField(choices=["empty", "full"])
    assumptions = s.ListField(child=s.CharField())
    networks = NetworkAir(many=True)


class Strategy(s.Serializer[Any]):
    """One way of sending and what comes of it."""

    traffic = s.DictField()
    in_words = s.CharField()
    refresh_hz = s.FloatField(allow_null=True)
    latency_ms = s.FloatField(allow_null=True)
    delivery = s.FloatField()
    air_time_ms = s.FloatField()
    energy_mj = s.FloatField()
    energy_j_per_show_hour = s.FloatField(allow_null=True)
    utilisation = s.FloatField(allow_null=True)
    is_estimate_valid = s.BooleanField()
    fits = s.BooleanField()
    is_present = s.BooleanField()
    is_best = s.BooleanField()
    reason = s.CharField(allow_blank=True)


class Share(s.Serializer[Any]):
    """One network of a split."""

    gateway = s.CharField()
    nodes = s.ListField(child=s.CharField())
    slots = s.IntegerField()
    refresh_hz = s.FloatField(allow_null=True)


class Split(s.Serializer[Any]):
    """A network split into several, each with a gateway, a feed and a radio channel of its own."""

    network = s.CharField()
    wanted_hz = s.FloatField()
    shares = Share(many=True)
    radio_channels = s.IntegerField()
    is_enough = s.BooleanField()
    unreached = s.ListField(child=s.CharField())
    reason = s.CharField()


class Strategies(Stamped):
    """Ways of sending side by side, the best first, and a split where one network is not enough."""

    house = s.ChoiceField(choices=["empty", "full"])
    network = s.CharField()
    energy_basis = s.CharField()
    strategies = Strategy(many=True)
    split = Split(allow_null=True)

"""Shapes of spectrum, radio channels and calibration, for the API's description."""

from typing import Any

from rest_framework import serializers as s


class Taken(s.Serializer[Any]):
    """Spectrum that something else takes."""

    label = s.CharField()
    low_mhz = s.FloatField()
    high_mhz = s.FloatField()
    received_dbm = s.FloatField(allow_null=True)


class Ours(s.Serializer[Any]):
    """Spectrum that one of our networks takes; null where its PHY has no such radio channel."""

    network = s.CharField()
    radio_channel = s.IntegerField()
    low_mhz = s.FloatField(allow_null=True)
    high_mhz = s.FloatField(allow_null=True)


class RadioChannel(s.Serializer[Any]):
    """A radio channel and who takes it."""

    radio_channel = s.IntegerField()
    frequency_mhz = s.FloatField()
    taken_by = s.ListField(child=s.CharField())


class Band(s.Serializer[Any]):
    """One band that our networks use."""

    phy = s.CharField()
    name = s.CharField()
    low_mhz = s.FloatField()
    high_mhz = s.FloatField()
    taken = Taken(many=True)
    ours = Ours(many=True)
    channels = RadioChannel(many=True)


class Spectrum(s.Serializer[Any]):
    """The spectrum of a venue."""

    bands = Band(many=True)


class ChannelOption(s.Serializer[Any]):
    """One radio channel for one network."""

    radio_channel = s.IntegerField()
    frequency_mhz = s.FloatField()
    noise_rise_db = s.FloatField()
    taken_by = s.ListField(child=s.CharField())
    limit = s.CharField()


class RadioChannelChoice(s.Serializer[Any]):
    """What a network should take, and why."""

    network = s.CharField()
    radio_channel = s.IntegerField()
    frequency_mhz = s.FloatField()
    noise_rise_db = s.FloatField()
    present_channel = s.IntegerField()
    present_noise_rise_db = s.FloatField(allow_null=True)
    reason = s.CharField()
    is_kept = s.BooleanField()
    options = ChannelOption(many=True)


class WithoutChannel(s.Serializer[Any]):
    """A network that can have no radio channel here."""

    network = s.CharField()
    reason = s.CharField()


class ChannelPlan(s.Serializer[Any]):
    """A radio channel for each network; optimal: no combination has less noise rise."""

    choices = RadioChannelChoice(many=True)
    total_noise_rise_db = s.FloatField()
    is_optimal = s.BooleanField()
    combinations = s.IntegerField()
    tried = s.IntegerField()
    without = WithoutChannel(many=True)


class Fit(s.Serializer[Any]):
    """What walk tests say of a venue's model; errors in dB over the spots."""

    network = s.CharField()
    frequency_mhz = s.FloatField()
    coefficients = s.ListField(child=s.DictField())
    sigma_db = s.FloatField()
    sigma_before_db = s.FloatField()
    rms_before_db = s.FloatField()
    rms_after_db = s.FloatField()
    bias_before_db = s.FloatField()
    spots = s.IntegerField()
    spots_lost = s.IntegerField()
    covariance = s.ListField(child=s.ListField(child=s.FloatField()))
    measured_distance_m = s.ListField(child=s.FloatField())
    condition_number = s.FloatField()
    latest_reading_at = s.CharField(help_text="time of the last reading that was used")
    outside_ranges = s.ListField(
        child=s.CharField(), help_text="in which ways the readings lie outside what the model's source states"
    )
    readings = s.ListField(child=s.DictField())
    findings = s.ListField(child=s.DictField())


class CalibrationName(s.Serializer[Any]):
    """The calibration that the venue is planned with now; null: the tables alone."""

    name = s.CharField(allow_null=True)
    revision = s.IntegerField()

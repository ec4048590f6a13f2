"""Shapes of what the planner says of power, for the API's description."""

from typing import Any

from rest_framework import serializers as s

from api.plan_shapes import Stamped, Subject


class Assumed(s.Serializer[Any]):
    """A value that was not entered, and what was taken instead."""

    subject = Subject()
    field = s.CharField()
    value = s.FloatField()
    unit = s.CharField()
    source = s.CharField()


class InStates(s.Serializer[Any]):
    """V or A with all loads at their rated current, at the supply's highest voltage, nominal, and at cut-off."""

    rated = s.FloatField()
    full = s.FloatField()
    nominal = s.FloatField()
    empty = s.FloatField()


class LinePoint(s.Serializer[Any]):
    """A point between the supply and the far end of the load."""

    name = s.CharField()
    distance_m = s.FloatField()
    along_tape_m = s.FloatField(allow_null=True)
    rated_v = s.FloatField()
    rated_a = s.FloatField()
    nominal_v = s.FloatField()
    nominal_a = s.FloatField()


class Conductor(s.Serializer[Any]):
    """A trunk or a lead; ohm is go and return together, use the share of its ampacity."""

    name = s.CharField()
    length_m = s.FloatField()
    area_mm2 = s.FloatField()
    ohm = s.FloatField()
    conductor_c = s.FloatField()
    design_a = s.FloatField()
    table_a = s.FloatField()
    ambient_factor = s.FloatField()
    grouping_factor = s.FloatField()
    ampacity_a = s.FloatField()
    fuse_a = s.FloatField(allow_null=True)
    fuse_class = s.CharField()
    protected_by_a = s.FloatField(allow_null=True)
    fuse_wanted_a = s.FloatField(allow_null=True)
    largest_fuse_a = s.FloatField(allow_null=True)
    drop_v = s.FloatField()
    use = s.FloatField(allow_null=True)


class Switch(s.Serializer[Any]):
    """The switch of an output at full level; junction_c is null where its heat runs away."""

    mohm_at_25_c = s.FloatField()
    mohm_warm = s.FloatField(allow_null=True)
    loss_w = s.FloatField(allow_null=True)
    junction_c = s.FloatField(allow_null=True)
    limit_c = s.FloatField()
    is_fully_on = s.BooleanField(allow_null=True)


class Inrush(s.Serializer[Any]):
    """What flows when it is switched on; borne_a2s is null without a fuse."""

    peak_a = s.FloatField(allow_null=True)
    a2s = s.FloatField(allow_null=True)
    borne_a2s = s.FloatField(allow_null=True)


class Light(s.Serializer[Any]):
    """Light beside that at rated voltage, which is 1."""

    near = s.FloatField()
    far = s.FloatField()
    mean = s.FloatField()
    far_when_empty = s.FloatField()
    evenness = s.FloatField()


class OutputPower(s.Serializer[Any]):
    """One output of a node and what it feeds."""

    node = s.CharField()
    output = s.IntegerField()
    load = s.CharField()
    kind = s.CharField()
    behaviour = s.CharField()
    rated_v = s.FloatField()
    rated_a = s.FloatField()
    current = InStates()
    load_v = InStates()
    far_v = InStates()
    drop_v = s.FloatField()
    drop_percent = s.FloatField()
    full_w = s.FloatField()
    light = Light()
    lead = Conductor()
    switch = Switch()
    inrush = Inrush()
    most_level = s.FloatField()
    surface_c = s.FloatField(allow_null=True)
    has_collapsed = s.BooleanField()
    points = LinePoint(many=True)


class PartWattHours(s.Serializer[Any]):
    """What a node takes over one part of the show day."""

    part = s.CharField()
    wh = s.FloatField()


class NodePower(s.Serializer[Any]):
    """A node, its trunk and its outputs; supply is null where none was entered."""

    node = s.CharField()
    supply = s.CharField(allow_null=True)
    bus_v = InStates()
    current = InStates()
    standing_a = s.FloatField()
    trunk = Conductor(allow_null=True)
    inrush = Inrush()
    outputs = OutputPower(many=True)
    energy_wh = PartWattHours(many=True)
    assumed = Assumed(many=True)


class PartEnergy(s.Serializer[Any]):
    """One part of the show day for a supply; left is what the pack in use has at its end, 1 is full."""

    part = s.CharField()
    kind = s.CharField()
    minutes = s.FloatField()
    mean_a = s.FloatField()
    drawn_wh = s.FloatField()
    share = s.FloatField(allow_null=True)
    left = s.FloatField(allow_null=True)
    pack = s.IntegerField(allow_null=True)
    is_changed = s.BooleanField()


class Charging(s.Serializer[Any]):
    """A pack on a charger in a gap of the day."""

    part = s.CharField()
    pack = s.IntegerField()
    charger = s.IntegerField()
    from_minute = s.FloatField()
    minutes = s.FloatField()
    level_before = s.FloatField()
    level_after = s.FloatField()


class PackDay(s.Serializer[Any]):
    """Packs of one supply through the show day; hours keep the reserve."""

    usable_ah = s.FloatField()
    usable_wh = s.FloatField()
    capacity_ah = s.FloatField()
    temperature_factor = s.FloatField()
    ageing_factor = s.FloatField()
    reserve = s.FloatField()
    hours_at_full = s.FloatField(allow_null=True)
    hours_of_show = s.FloatField(allow_null=True)
    day_share = s.FloatField(allow_null=True)
    packs = s.IntegerField()
    packs_needed = s.IntegerField()
    changes = s.IntegerField()
    unserved = s.ListField(child=s.CharField())
    charge_hours = s.FloatField()
    overnight_h = s.FloatField(allow_null=True)
    night_h = s.FloatField()
    charging = Charging(many=True)
    margin = s.FloatField()


class SupplyPower(s.Serializer[Any]):
    """A supply and the nodes it feeds; day is null for mains and for a pack of unknown capacity."""

    supply = s.CharField()
    kind = s.CharField()
    chemistry = s.CharField(allow_blank=True)
    nodes = s.ListField(child=s.CharField())
    emf_v = InStates()
    terminal_v = InStates()
    current = InStates()
    internal_ohm = s.FloatField()
    limit_a = s.FloatField(allow_null=True)
    short_circuit_a = s.FloatField(allow_null=True)
    watt_hours = s.FloatField(allow_null=True)
    parts = PartEnergy(many=True)
    day = PackDay(allow_null=True)
    assumed = Assumed(many=True)
    use = s.FloatField(allow_null=True)


class Power(Stamped):
    """Does the power last, safely: the kit's nodes and supplies, placed or not."""

    warmest_c = s.FloatField()
    coldest_c = s.FloatField()
    nodes = NodePower(many=True)
    supplies = SupplyPower(many=True)

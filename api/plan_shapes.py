"""Shapes of what the planner answers, for the API's description. They describe; the services make the values."""

from typing import Any

from rest_framework import serializers as s


class Stamped(s.Serializer[Any]):
    """Which Scene a result belongs to."""

    fingerprint = s.RegexField(r"^[0-9a-f]{64}$")
    planner_version = s.CharField()


class Quantity(s.Serializer[Any]):
    """A number behind a finding."""

    name = s.CharField()
    value = s.FloatField()
    unit = s.CharField()


class Subject(s.Serializer[Any]):
    """What a finding is about."""

    kind = s.CharField()
    name = s.CharField()


class Finding(s.Serializer[Any]):
    """The result of one check."""

    code = s.CharField()
    question = s.CharField()
    severity = s.ChoiceField(choices=["stop", "warn", "note"])
    subject = Subject()
    sentence = s.CharField()
    remedy = s.CharField()
    quantities = Quantity(many=True)
    formulas = s.ListField(child=s.CharField())
    source = s.CharField()
    house = s.ChoiceField(choices=["", "empty", "full"])


class Answer(s.Serializer[Any]):
    """The state of one of the seven questions."""

    question = s.CharField()
    title = s.CharField()
    state = s.ChoiceField(choices=["ready", "look", "stop", "open"])
    stops = s.IntegerField()
    warnings = s.IntegerField()
    in_words = s.CharField()


class Readiness(Stamped):
    """The plan of a venue."""

    assumptions = s.ListField(child=s.CharField())
    answers = Answer(many=True)
    findings = Finding(many=True)


class VenueAnswers(s.Serializer[Any]):
    """The answers of one venue; `region_conflicts` are stops and warnings for the whole kit, placed there or not."""

    venue = s.UUIDField()
    name = s.CharField()
    revision = s.IntegerField()
    fingerprint = s.CharField()
    answers = Answer(many=True)
    region_conflicts = Finding(many=True)


class ProjectReadiness(s.Serializer[Any]):
    """The readiness table of a tour."""

    venues = VenueAnswers(many=True)


class Link(s.Serializer[Any]):
    """One directed link."""

    transmitter = s.CharField()
    receiver = s.CharField()
    distance_m = s.FloatField()
    path_loss_db = s.FloatField()
    received_dbm = s.FloatField()
    margin_db = s.FloatField()
    delivery = s.FloatField()
    worst_delivery = s.FloatField()
    is_usable = s.BooleanField()


class NetworkLinks(s.Serializer[Any]):
    """Links of one network."""

    network = s.CharField()
    frequency_mhz = s.FloatField()
    links = Link(many=True)


class Links(Stamped):
    """Links of a venue."""

    house = s.ChoiceField(choices=["empty", "full"])
    networks = NetworkLinks(many=True)


class Route(s.Serializer[Any]):
    """The best route to a node."""

    node = s.CharField()
    nodes = s.ListField(child=s.CharField())
    hops = s.IntegerField()
    margin_db = s.FloatField(allow_null=True)
    delivery = s.FloatField()


class SinglePoint(s.Serializer[Any]):
    """A node or link whose loss leaves others dark."""

    lost = s.ListField(child=s.CharField())
    is_link = s.BooleanField()
    dark = s.ListField(child=s.CharField())


class NetworkRoutes(s.Serializer[Any]):
    """Routes of one network."""

    network = s.CharField()
    routes = Route(many=True)
    without_route = s.ListField(child=s.CharField())
    single_points = SinglePoint(many=True)


class Routes(Stamped):
    """Routes of a venue."""

    house = s.ChoiceField(choices=["empty", "full"])
    networks = NetworkRoutes(many=True)


class Plan(Stamped):
    """Several results of one plan, each as it is alone."""

    links = Links(required=False)
    routes = Routes(required=False)
    readiness = Readiness(required=False)


class ZoneShare(s.Serializer[Any]):
    """How a zone is served: share of its cells with a delivery of 99 % or more, mean and worst delivery."""

    zone = s.CharField()
    served = s.FloatField()
    mean_delivery = s.FloatField()
    worst_delivery = s.FloatField()


class Coverage(s.Serializer[Any]):
    """Margins and delivery over a grid: rows follow y_m, columns x_m."""

    level = s.CharField()
    network = s.CharField()
    house = s.ChoiceField(choices=["empty", "full"])
    senders = s.ListField(child=s.CharField())
    receiver_type = s.CharField()
    receiver_is_worn = s.BooleanField()
    height_m = s.FloatField()
    step_m = s.FloatField()
    share_served = s.FloatField()
    x_m = s.ListField(child=s.FloatField())
    y_m = s.ListField(child=s.FloatField())
    margin_db = s.ListField(child=s.ListField(child=s.FloatField()))
    second_margin_db = s.ListField(child=s.ListField(child=s.FloatField()), allow_null=True)
    delivery = s.ListField(child=s.ListField(child=s.FloatField()))
    zones = ZoneShare(many=True)


class Scene(s.Serializer[Any]):
    """The frozen Scene of a venue; `manage.py scene --schema` prints its whole JSON schema."""

    schema_version = s.IntegerField()
    venue = s.DictField()

"""Shapes of relay placements and the failure view, for the API's description."""

from typing import Any

from rest_framework import serializers as s

from api.plan_shapes import Stamped


class Weakened(s.Serializer[Any]):
    """A node that is still heard after a failure, with the delivery before and after."""

    node = s.CharField()
    before = s.FloatField()
    after = s.FloatField()


class Failure(s.Serializer[Any]):
    """What happens without a node, a link or a pair of relays; lost_delivery is the sum over all nodes."""

    kind = s.ChoiceField(choices=["node", "link", "pair"])
    lost = s.ListField(child=s.CharField())
    dark = s.ListField(child=s.CharField())
    weakened = Weakened(many=True)
    worst_delivery = s.FloatField()
    lost_delivery = s.FloatField()


class NetworkFailures(s.Serializer[Any]):
    """Failures of one network, the worst first."""

    network = s.CharField()
    reached = s.IntegerField()
    worst_delivery = s.FloatField()
    nodes = Failure(many=True)
    links = Failure(many=True)
    worst_pair = Failure(allow_null=True)


class Failures(Stamped):
    """The failure view of a venue."""

    house = s.ChoiceField(choices=["empty", "full"])
    networks = NetworkFailures(many=True)


class AppliedPlacement(s.Serializer[Any]):
    """What became of the network's relays (and of gateways whose site was chosen), by label."""

    kept = s.ListField(child=s.CharField(), help_text="stood at a chosen site already")
    moved = s.ListField(child=s.CharField())
    placed = s.ListField(child=s.CharField(), help_text="came from the kit into the venue")
    removed = s.ListField(child=s.CharField(), help_text="left the venue, not the kit")
    made = s.ListField(child=s.CharField(), help_text="are new in the kit")
    revision = s.IntegerField(help_text="of the project, with all of it; undo it to go back")

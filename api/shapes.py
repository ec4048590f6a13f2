"""Shapes of answers that are no records, for the API's description. They describe; the services make the values."""

from functools import cache
from typing import Any

from rest_framework import serializers as s

from api.serializers import serializer_for
from api.views.history import UndoSerializer
from api.views.people import AcceptSerializer, InvitationSerializer, MemberSerializer
from api.views.projects import ProjectSerializer
from api.views.tokens import TokenSerializer
from showplan.services.nouns import Noun

Shape = type[s.Serializer[Any]]


class Problem(s.Serializer[Any]):
    """RFC 9457 problem details."""

    type = s.CharField()
    title = s.CharField()
    status = s.IntegerField()
    detail = s.CharField()
    instance = s.CharField()
    request_id = s.CharField()
    errors = s.ListField(child=s.DictField(child=s.CharField()), required=False)
    rows = s.ListField(child=s.DictField(), required=False)
    current = s.DictField(required=False, allow_null=True)
    version = s.IntegerField(required=False)


@cache
def page_of(item: Shape) -> Shape:
    """A page of items."""
    name = f"{item.__name__.removesuffix('Serializer').removesuffix('Shape')}Page"
    fields = {"items": item(many=True), "next": s.CharField(allow_null=True), "__doc__": "One page; `next` leads on."}
    return type(name, (s.Serializer,), fields)


@cache
def list_of(item: Shape) -> Shape:
    """A whole list of items."""
    name = f"{item.__name__.removesuffix('Shape')}List"
    return type(name, (s.Serializer,), {"items": item(many=True)})


class BulkRowShape(s.Serializer[Any]):
    """One row of a bulk write."""

    part = s.ChoiceField(choices=["create", "update"])
    row = s.IntegerField()
    record = s.DictField()


class BulkAnswer(s.Serializer[Any]):
    """What a bulk write did."""

    created = s.IntegerField()
    updated = s.IntegerField()
    revision = s.IntegerField()
    rows = BulkRowShape(many=True, required=False)


@cache
def bulk_request(noun: Noun) -> Shape:
    """The body of a bulk write of one noun."""
    record = serializer_for(noun)
    name = noun.model.__name__

    class UpdateRow(s.Serializer[Any]):
        id = s.UUIDField()
        version = s.IntegerField(min_value=1, max_value=2**31 - 1)
        set = record(required=False, partial=True)
        clear = s.ListField(child=s.CharField(), required=False, max_length=50)

    class Where(s.Serializer[Any]):
        filter = s.DictField(child=s.CharField())
        set = record(required=False, partial=True)
        clear = s.ListField(child=s.CharField(), required=False, max_length=50)

    UpdateRow.__name__, Where.__name__ = f"{name}BulkUpdate", f"{name}BulkWhere"
    fields = {
        "create": record(many=True, required=False),
        "update": UpdateRow(many=True, required=False),
        "update_where": Where(required=False),
    }
    return type(f"{name}Bulk", (s.Serializer,), fields)


class StampedShape(s.Serializer[Any]):
    """Which Scene a result belongs to."""

    fingerprint = s.RegexField(r"^[0-9a-f]{64}$")
    planner_version = s.CharField()


class QuantityShape(s.Serializer[Any]):
    """A number behind a finding."""

    name = s.CharField()
    value = s.FloatField()
    unit = s.CharField()


class SubjectShape(s.Serializer[Any]):
    """What a finding is about."""

    kind = s.CharField()
    name = s.CharField()


class FindingShape(s.Serializer[Any]):
    """The result of one check."""

    code = s.CharField()
    question = s.CharField()
    severity = s.ChoiceField(choices=["stop", "warn", "note"])
    subject = SubjectShape()
    sentence = s.CharField()
    remedy = s.CharField()
    quantities = QuantityShape(many=True)
    formulas = s.ListField(child=s.CharField())
    source = s.CharField()


class AnswerShape(s.Serializer[Any]):
    """The state of one of the seven questions."""

    question = s.CharField()
    title = s.CharField()
    state = s.ChoiceField(choices=["ready", "look", "stop", "open"])
    stops = s.IntegerField()
    warnings = s.IntegerField()
    in_words = s.CharField()


class ReadinessShape(StampedShape):
    """The plan of a venue."""

    assumptions = s.ListField(child=s.CharField())
    answers = AnswerShape(many=True)
    findings = FindingShape(many=True)


class VenueAnswersShape(s.Serializer[Any]):
    """The answers of one venue."""

    venue = s.UUIDField()
    name = s.CharField()
    revision = s.IntegerField()
    fingerprint = s.CharField()
    answers = AnswerShape(many=True)


class ProjectReadinessShape(s.Serializer[Any]):
    """The readiness table of a tour."""

    venues = VenueAnswersShape(many=True)


class LinkShape(s.Serializer[Any]):
    """One directed link."""

    transmitter = s.CharField()
    receiver = s.CharField()
    distance_m = s.FloatField()
    path_loss_db = s.FloatField()
    received_dbm = s.FloatField()
    margin_db = s.FloatField()
    is_usable = s.BooleanField()


class NetworkLinksShape(s.Serializer[Any]):
    """Links of one network."""

    network = s.CharField()
    frequency_mhz = s.FloatField()
    links = LinkShape(many=True)


class LinksShape(StampedShape):
    """Links of a venue."""

    networks = NetworkLinksShape(many=True)


class RouteShape(s.Serializer[Any]):
    """The best route to a node."""

    node = s.CharField()
    nodes = s.ListField(child=s.CharField())
    hops = s.IntegerField()
    margin_db = s.FloatField(allow_null=True)


class SinglePointShape(s.Serializer[Any]):
    """A node or link whose loss leaves others dark."""

    lost = s.ListField(child=s.CharField())
    is_link = s.BooleanField()
    dark = s.ListField(child=s.CharField())


class NetworkRoutesShape(s.Serializer[Any]):
    """Routes of one network."""

    network = s.CharField()
    routes = RouteShape(many=True)
    without_route = s.ListField(child=s.CharField())
    single_points = SinglePointShape(many=True)


class RoutesShape(StampedShape):
    """Routes of a venue."""

    networks = NetworkRoutesShape(many=True)


class CoverageShape(s.Serializer[Any]):
    """Margin over a grid: rows follow y_m, columns x_m."""

    level = s.CharField()
    network = s.CharField()
    senders = s.ListField(child=s.CharField())
    receiver_type = s.CharField()
    receiver_is_worn = s.BooleanField()
    height_m = s.FloatField()
    step_m = s.FloatField()
    share_served = s.FloatField()
    x_m = s.ListField(child=s.FloatField())
    y_m = s.ListField(child=s.FloatField())
    margin_db = s.ListField(child=s.ListField(child=s.FloatField()))


class VenueRevisionShape(s.Serializer[Any]):
    """Revision of a venue."""

    id = s.UUIDField()
    name = s.CharField()
    revision = s.IntegerField()


class RevisionsShape(s.Serializer[Any]):
    """Revisions of a project and its venues."""

    revision = s.IntegerField()
    venues = VenueRevisionShape(many=True)


class RevisionShape(s.Serializer[Any]):
    """The project's new revision."""

    revision = s.IntegerField()


class ChangeShape(s.Serializer[Any]):
    """One record changed in one revision; `before` and `after` hold the fields that differ."""

    id = s.IntegerField()
    revision = s.IntegerField()
    at = s.DateTimeField()
    actor_name = s.CharField()
    via = s.CharField()
    action = s.ChoiceField(choices=["created", "updated", "deleted"])
    record_kind = s.CharField()
    record_id = s.UUIDField()
    record_name = s.CharField()
    venue = s.UUIDField(allow_null=True)
    venue_name = s.CharField()
    venue_revision = s.IntegerField(allow_null=True)
    before = s.DictField()
    after = s.DictField()


class FormulaShape(s.Serializer[Any]):
    """One formula of the catalogue."""

    name = s.CharField()
    meaning = s.CharField()
    expression = s.CharField()
    parameters = s.ListField(child=s.DictField())
    result_unit = s.CharField()
    source = s.DictField()
    validity = s.CharField()


class FormulaValueShape(s.Serializer[Any]):
    """The value of a formula."""

    name = s.CharField()
    value = s.FloatField()
    unit = s.CharField()
    inputs = s.DictField(child=s.FloatField())
    source = s.DictField()
    warnings = s.ListField(child=s.CharField())


class NamesShape(s.Serializer[Any]):
    """A list of names."""

    items = s.ListField(child=s.CharField())


class RowsShape(s.Serializer[Any]):
    """Rows of a reference table."""

    items = s.ListField(child=s.DictField())


class MeShape(s.Serializer[Any]):
    """Who calls."""

    id = s.UUIDField()
    username = s.CharField()
    token = TokenSerializer(allow_null=True)


class SceneShape(s.Serializer[Any]):
    """A Scene; `manage.py scene --schema` prints its own JSON schema."""

    schema_version = s.IntegerField()
    venue = s.DictField()


# Request and answer of the endpoints that are of no noun: {view name: {method: (request, status, answer)}}.
SHAPES: dict[str, dict[str, tuple[Any, int, Any]]] = {
    "Me": {"GET": (None, 200, MeShape)},
    "Tokens": {"GET": (None, 200, page_of(TokenSerializer)), "POST": (TokenSerializer, 201, TokenSerializer)},
    "OneToken": {"GET": (None, 200, TokenSerializer), "DELETE": (None, 204, None)},
    "Projects": {"GET": (None, 200, page_of(ProjectSerializer)), "POST": (ProjectSerializer, 201, ProjectSerializer)},
    "OneProject": {
        "GET": (None, 200, ProjectSerializer),
        "PATCH": (ProjectSerializer, 200, ProjectSerializer),
        "DELETE": (None, 204, None),
    },
    "Revisions": {"GET": (None, 200, RevisionsShape)},
    "ProjectReadiness": {"GET": (None, 200, ProjectReadinessShape)},
    "Members": {"GET": (None, 200, page_of(MemberSerializer))},
    "OneMember": {
        "GET": (None, 200, MemberSerializer),
        "PATCH": (MemberSerializer, 200, MemberSerializer),
        "DELETE": (None, 204, None),
    },
    "Invitations": {
        "GET": (None, 200, page_of(InvitationSerializer)),
        "POST": (InvitationSerializer, 201, InvitationSerializer),
    },
    "OneInvitation": {"GET": (None, 200, InvitationSerializer), "DELETE": (None, 204, None)},
    "AcceptInvitation": {"POST": (AcceptSerializer, 201, MemberSerializer)},
    "Changes": {"GET": (None, 200, page_of(ChangeShape))},
    "Undo": {"POST": (UndoSerializer, 200, RevisionShape)},
    "SceneOfVenue": {"GET": (None, 200, SceneShape)},
    "Links": {"GET": (None, 200, LinksShape)},
    "Routes": {"GET": (None, 200, RoutesShape)},
    "Readiness": {"GET": (None, 200, ReadinessShape)},
    "CoverageOfLevel": {"GET": (None, 200, CoverageShape)},
    "CoveragePicture": {"GET": (None, 200, "image/png")},
    "Formulas": {"GET": (None, 200, list_of(FormulaShape))},
    "OneFormula": {"GET": (None, 200, FormulaShape)},
    "FormulaValue": {"GET": (None, 200, FormulaValueShape)},
    "ReferenceTables": {"GET": (None, 200, NamesShape)},
    "OneReferenceTable": {"GET": (None, 200, RowsShape)},
}

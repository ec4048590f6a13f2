"""Bare views of the framework over the same rows: what the API's own views are measured against."""

from django.urls import include, path
from rest_framework.generics import ListAPIView, RetrieveAPIView
from rest_framework.permissions import IsAuthenticated
from rest_framework.serializers import ModelSerializer

from api.callers import BearerAuthentication
from api.representation import names_of
from showplan.records.models import Node
from showplan.services.nouns import by_path


class BareSerializer(ModelSerializer):
    """The same fields as the API's."""

    class Meta:
        model = Node
        fields = names_of(by_path()["nodes"])


class Bare:
    """The same authentication; no scopes, rights, filters, pages, tags or checks of parameters."""

    queryset = Node.objects.all()
    serializer_class = BareSerializer
    authentication_classes = (BearerAuthentication,)
    permission_classes = (IsAuthenticated,)


class BareList(Bare, ListAPIView):
    """All nodes there are."""


class BareDetail(Bare, RetrieveAPIView):
    """One node."""


urlpatterns = [
    path("bare/nodes/", BareList.as_view()),
    path("bare/nodes/<uuid:pk>/", BareDetail.as_view()),
    path("", include("showplan.urls")),
]

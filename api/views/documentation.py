"""The API's documentation page: works offline, under the strict content policy."""

from typing import ClassVar

from drf_spectacular.views import SpectacularSwaggerSplitView
from rest_framework.renderers import TemplateHTMLRenderer


class Documentation(SpectacularSwaggerSplitView):
    """Reads the description beside it; its scripts are files of this server."""

    permission_classes: ClassVar[list[type]] = []
    renderer_classes: ClassVar[list[type]] = [TemplateHTMLRenderer]

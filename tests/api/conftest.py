"""The cast with their tokens, and a tour with room for new records of every noun."""

import pytest

from showplan.records.models import User
from tests.api.bodies import Given
from tests.api.client import ApiClient, api_for, token_for
from tests.kept import Made


@pytest.fixture
def owner_token(owner: User) -> str:
    """A token of the owner's with every scope."""
    return token_for(owner)


@pytest.fixture
def owner_api(owner_token: str) -> ApiClient:
    """Calls as the owner."""
    return ApiClient(owner_token)


@pytest.fixture
def editor_api(editor: User) -> ApiClient:
    """Calls as the editor."""
    return api_for(editor)


@pytest.fixture
def viewer_api(viewer: User) -> ApiClient:
    """Calls as the viewer."""
    return api_for(viewer)


@pytest.fixture
def outsider_api(outsider: User) -> ApiClient:
    """Calls as somebody who is a member of nothing."""
    return api_for(outsider)


@pytest.fixture
def anonymous_api(db: None) -> ApiClient:
    """Calls without a token."""
    return ApiClient()


@pytest.fixture
def given(kept_room: Made) -> Given:
    """What new records of the tour can refer to."""
    return kept_room["given"]

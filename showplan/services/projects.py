"""Projects as a whole: starting, renaming, deleting, and how far their revisions have grown."""

from collections.abc import Mapping
from typing import Any

from django.db import transaction

from showplan.records.models import Project, User
from showplan.services.editing import create_project, edit
from showplan.services.errors import NotAllowed, NotFound, StaleWrite
from showplan.services.rights import Caller, refuse_unless_owner


def start_project(caller: Caller, *, name: str, note: str = "") -> Project:
    """A new project that the caller owns. Raises NotAllowed, InvalidInput."""
    caller.refuse_without("write")
    if caller.token is not None and caller.token.project_id is not None:
        raise NotAllowed("this token is bound to one project; starting another needs one without a project")
    assert isinstance(caller.user, User)
    return create_project(name=name, note=note, owner=caller.user, actor=caller.actor())


def update_project(caller: Caller, project: Project, values: Mapping[str, Any], based_on: int | None) -> Project:
    """Change the project's own fields; for owners. Raises NotAllowed, StaleWrite, InvalidInput."""
    refuse_unless_owner(caller, project)
    with edit(project, caller.actor()) as change:
        fresh = _fresh(project)
        change.update(fresh, values, based_on=based_on)
    return fresh


def delete_project(caller: Caller, project: Project, based_on: int | None) -> None:
    """Delete the project with its history; for owners. Raises NotAllowed, StaleWrite."""
    refuse_unless_owner(caller, project)
    with transaction.atomic():
        locked = Project.objects.select_for_update().filter(pk=project.pk).first()
        if locked is None:
            raise NotFound(f"project {project.name!r} was deleted meanwhile")
        if based_on is not None and based_on != locked.version:
            raise StaleWrite("project", locked.name, based_on, locked.version)
        locked.delete()


def revisions_of(project: Project) -> dict[str, Any]:
    """How far the project and each of its venues have grown: what a script polls to see whether anything changed."""
    venues = project.venues.order_by("name", "id").values("id", "name", "revision")
    return {"revision": _fresh(project).revision, "venues": list(venues)}


def _fresh(project: Project) -> Project:
    found = Project.objects.filter(pk=project.pk).first()
    if found is None:
        raise NotFound(f"project {project.name!r} was deleted meanwhile")
    return found

"""Projects and venues by the names people type on the command line; no rights are checked there."""

from uuid import UUID

from showplan.records.models import Project, Venue
from showplan.services.errors import NotFound


def venue_named(name: str, project: str | None = None) -> Venue:
    """The one venue with that name or identifier. Raises NotFound, which lists what there is."""
    venues = Venue.objects.select_related("project").order_by("project__name", "name")
    if project is not None:
        venues = venues.filter(project__name=project)
    identifier = _as_uuid(name)
    found = list(venues.filter(pk=identifier) if identifier else venues.filter(name=name))
    if len(found) == 1:
        return found[0]
    known = ", ".join(f"{venue.name!r} of {venue.project.name!r}" for venue in (found or venues)[:20])
    why = "several venues have" if found else "there is no venue with"
    raise NotFound(f"{why} the name {name!r}; known: {known or 'none at all'}")


def project_named(name: str) -> Project:
    """The one project with that name or identifier. Raises NotFound, which lists what there is."""
    identifier = _as_uuid(name)
    found = list(Project.objects.filter(pk=identifier) if identifier else Project.objects.filter(name=name))
    if len(found) == 1:
        return found[0]
    known = ", ".join(repr(project.name) for project in Project.objects.all()[:20])
    why = "several projects have" if found else "there is no project with"
    raise NotFound(f"{why} the name {name!r}; known: {known or 'none at all'}")


def venue_in(project: Project, name: str) -> Venue:
    """The venue of that name in a project. Raises NotFound, which lists what there is."""
    found = project.venues.filter(name=name).select_related("project").first()
    if found is None:
        known = ", ".join(repr(venue.name) for venue in project.venues.all()[:20])
        raise NotFound(f"there is no venue {name!r} in {project.name!r}; known: {known or 'none at all'}")
    return found


def _as_uuid(text: str) -> UUID | None:
    try:
        return UUID(text)
    except ValueError:
        return None

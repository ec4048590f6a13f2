"""The history of a project, and undoing a revision as a new one."""

from collections import Counter, defaultdict
from typing import Any

from django.db.models import QuerySet

from showplan.records import models as r
from showplan.records.base import Record
from showplan.records.models import Change, Project
from showplan.services.deletion import toll_of_deleting
from showplan.services.editing import Edit, edit
from showplan.services.errors import NotFound, RuleBroken
from showplan.services.rights import Caller, refuse_unless_editor, refuse_unless_owner
from showplan.services.snapshots import edited_fields, restored, snapshot

# Parents before what hangs on them: the order in which deleted records come back.
RESTORE_ORDER: tuple[type[Record], ...] = (
    r.Crew,
    r.Membership,
    r.Venue,
    r.Level,
    r.Wall,
    r.Zone,
    r.CandidateSite,
    r.OccupiedSpectrum,
    r.TourDate,
    r.NodeType,
    r.Network,
    r.Supply,
    r.Node,
    r.Load,
    r.Placement,
    r.Reading,
)
MODELS: dict[str, type[Record]] = {model.__name__: model for model in RESTORE_ORDER}
MODELS["Project"] = r.Project
OWNERS_ONLY = {"Membership", "Project"}


def changes_of(project: Project) -> QuerySet[Change]:
    """The project's history, newest first."""
    return project.changes.all()


def undo_revision(caller: Caller, project: Project, revision: int) -> Project:
    """Take back everything a revision did, as a new revision; undoing that one brings it back.

    Raises NotFound for an unknown revision, RuleBroken where a record was changed again since (it names the first).
    """
    refuse_unless_editor(caller, project)
    changes = list(Change.objects.filter(project=project, revision=revision).order_by("-id"))
    if not changes:
        raise NotFound(f"there is no revision {revision} in {project.name!r}")
    if any(change.record_kind not in MODELS for change in changes):
        raise RuleBroken("invitations are not undone: withdraw the link, or make a new one")
    if any(change.record_kind in OWNERS_ONLY for change in changes):
        refuse_unless_owner(caller, project)
    with edit(project, caller.actor()) as undoing:
        _restore(undoing, [change for change in changes if change.action == Change.Action.DELETED])
        _revert(undoing, [change for change in changes if change.action == Change.Action.UPDATED])
        _take_back(undoing, [change for change in changes if change.action == Change.Action.CREATED])
        if not project.memberships.filter(role=r.Membership.Role.OWNER).exists():
            raise RuleBroken(f"{project.name!r} would be left without an owner")
    return project


def _restore(undoing: Edit, changes: list[Change]) -> None:
    by_model: dict[type[Record], list[Record]] = defaultdict(list)
    keys = [change.record_id for change in changes]
    writes = Counter(Change.objects.filter(record_id__in=keys).values_list("record_id", flat=True))
    for change in changes:
        model = MODELS[change.record_kind]
        if model._default_manager.filter(pk=change.record_id).exists():
            raise RuleBroken(f"{model.noun()} {change.record_name!r} is there again already")
        record = restored(model, change.record_id, change.before)
        # Above every version it ever had (each is a row of the history): no old tag may match the new row.
        record.version = writes[change.record_id] + 1
        by_model[model].append(record)
    for model in RESTORE_ORDER:
        if by_model[model]:
            undoing.create(by_model[model])


def _revert(undoing: Edit, changes: list[Change]) -> None:
    for change in changes:
        record = _current(change)
        now = snapshot(record)
        moved = [name for name, value in change.after.items() if now[name] != value]
        if moved:
            raise RuleBroken(
                f"{record.noun()} {str(record)!r} was changed again since ({', '.join(moved)}): undo that first"
            )
        earlier = restored(type(record), change.record_id, {**now, **change.before})
        names = {field.attname: field.name for field in edited_fields(type(record))}
        undoing.update(record, {names[name]: getattr(earlier, names[name]) for name in change.before})


def _take_back(undoing: Edit, changes: list[Change]) -> None:
    made = {change.record_id for change in changes}
    for change in changes:
        record = MODELS[change.record_kind]._default_manager.filter(pk=change.record_id).first()
        if record is None:
            continue  # it went with its parent
        if snapshot(record) != change.after:
            raise RuleBroken(f"{record.noun()} {str(record)!r} was changed since it was made: undo that first")
        later = [lost for lost in toll_of_deleting(record).deleted if lost.pk not in made]
        if later:
            raise RuleBroken(
                f"{record.noun()} {str(record)!r} has a {later[0].noun()} {str(later[0])!r} since: undo that"
            )
        undoing.delete(record)


def _current(change: Change) -> Any:
    model = MODELS[change.record_kind]
    record = model._default_manager.filter(pk=change.record_id).first()
    if record is None:
        raise RuleBroken(f"{model.noun()} {change.record_name!r} is gone: undo its deletion first")
    return record

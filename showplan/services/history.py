"""The history of a project, and undoing a revision as a new one."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from uuid import UUID

from django.db.models import ForeignKey, QuerySet

from showplan.records import models as r
from showplan.records.base import Record
from showplan.records.models import Change, Project
from showplan.services.deletion import toll_of_deleting
from showplan.services.editing import Edit, edit
from showplan.services.errors import InvalidInput, NotFound, RuleBroken
from showplan.services.rights import Caller, refuse_unless_editor, refuse_unless_owner
from showplan.services.snapshots import differences, edited_fields, restored, snapshot

# Parents before what hangs on them: the order in which deleted records come back.
RESTORE_ORDER: tuple[type[Record], ...] = (
    r.Crew,
    r.Membership,
    r.Venue,
    r.Level,
    r.Wall,
    r.Zone,
    r.CrowdArea,
    r.CandidateSite,
    r.OccupiedSpectrum,
    r.TourDate,
    r.OwnPhy,
    r.NodeType,
    r.Network,
    r.ShowTimeline,
    r.Traffic,
    r.Feed,
    r.Supply,
    r.Node,
    r.Load,
    r.ShowPart,
    r.PartLevel,
    r.Placement,
    r.Reading,
    r.Calibration,
    r.ChannelChoice,
)
MODELS: dict[str, type[Record]] = {model.__name__: model for model in RESTORE_ORDER}
MODELS["Project"] = r.Project
OWNERS_ONLY = {"Membership", "Project"}


def changes_of(project: Project) -> QuerySet[Change]:
    """The project's history, newest first."""
    return project.changes.all()


def undo_revision(caller: Caller, project: Project, revision: int) -> Project:
    """Take back everything a revision did, as a new revision; undoing that one brings it back.

    Raises NotFound for an unknown revision, RuleBroken where a record was changed again since (it names the first) or
    what it needs is gone.
    """
    refuse_unless_editor(caller, project)
    changes = list(Change.objects.filter(project=project, revision=revision).order_by("-id"))
    if not changes:
        raise NotFound(f"there is no revision {revision} in {project.name!r}")
    if any(change.record_kind not in MODELS for change in changes):
        raise RuleBroken("invitations are not undone: withdraw the link, or make a new one")
    if any(change.record_kind in OWNERS_ONLY for change in changes):
        refuse_unless_owner(caller, project)
    try:
        with edit(project, caller.actor()) as undoing:
            _restore(undoing, [change for change in changes if change.action == Change.Action.DELETED])
            _revert(undoing, [change for change in changes if change.action == Change.Action.UPDATED])
            _take_back(undoing, [change for change in changes if change.action == Change.Action.CREATED])
            if not project.memberships.filter(role=r.Membership.Role.OWNER).exists():
                raise RuleBroken(f"{project.name!r} would be left without an owner")
    except InvalidInput as error:
        raise RuleBroken(f"revision {revision} does not fit what is there now: {error}") from error
    return project


def _restore(undoing: Edit, changes: list[Change]) -> None:
    keys = [change.record_id for change in changes]
    writes = Counter(Change.objects.filter(record_id__in=keys).values_list("record_id", flat=True))
    for model in RESTORE_ORDER:
        names = {change.record_id: change.record_name for change in changes if MODELS[change.record_kind] is model}
        there = model._default_manager.filter(pk__in=names).values_list("pk", flat=True).first()
        if there is not None:
            raise RuleBroken(f"{model.noun()} {names[there]!r} is there again already")
        records = [restored(model, one.record_id, one.before) for one in changes if one.record_id in names]
        for record in records:
            # Above every version it ever had (each is a row of the history): no old tag may match the new row.
            record.version = writes[record.pk] + 1
        _attach(model, records, names)
        undoing.create(records)


def _attach(model: type[Record], records: Sequence[Record], names: Mapping[UUID, str]) -> None:
    """Load what records refer to, with one query for each reference. Raises RuleBroken where it is gone."""
    for field in edited_fields(model):
        if not isinstance(field, ForeignKey):
            continue
        keys = {getattr(record, field.attname) for record in records} - {None}
        found = field.related_model._default_manager.in_bulk(keys) if keys else {}
        for record in records:
            key = getattr(record, field.attname)
            if key is not None and key not in found:
                gone = field.related_model._meta.verbose_name
                raise RuleBroken(
                    f"{model.noun()} {names[record.pk]!r} needs a {gone} that is gone: bring that back first"
                )
            if key is not None:
                setattr(record, field.name, found[key])


def _revert(undoing: Edit, changes: list[Change]) -> None:
    for model, batch in _batches(changes):
        rows = model._default_manager.select_related(*filter(None, ["__".join(model.owner)]))
        found = rows.in_bulk([change.record_id for change in batch])
        earlier = [_earlier(model, found.get(change.record_id), change) for change in batch]
        _attach(model, earlier, {change.record_id: change.record_name for change in batch})
        names = {field.attname: field.name for field in edited_fields(model)}
        undoing.update_many(
            [
                (found[change.record_id], {names[name]: getattr(then, names[name]) for name in change.before}, None)
                for change, then in zip(batch, earlier, strict=True)
            ]
        )


def _batches(changes: list[Change]) -> Iterator[tuple[type[Record], list[Change]]]:
    """The changes in their order, those of one kind together, but no record twice in one batch."""
    batch: list[Change] = []
    for change in changes:
        if batch and (change.record_kind != batch[0].record_kind or change.record_id in {c.record_id for c in batch}):
            yield MODELS[batch[0].record_kind], batch
            batch = []
        batch.append(change)
    if batch:
        yield MODELS[batch[0].record_kind], batch


def _earlier(model: type[Record], record: Record | None, change: Change) -> Record:
    """The record as it was before the change. Raises RuleBroken where it was changed again since, or is gone."""
    if record is None:
        raise RuleBroken(f"{model.noun()} {change.record_name!r} is gone: undo its deletion first")
    now = snapshot(record)
    moved = [name for name, value in change.after.items() if now[name] != value]
    if moved:
        raise RuleBroken(
            f"{model.noun()} {str(record)!r} was changed again since ({', '.join(moved)}): undo that first"
        )
    return restored(model, change.record_id, {**now, **change.before})


def _take_back(undoing: Edit, changes: list[Change]) -> None:
    made = {change.record_id for change in changes}
    for change in changes:
        record = MODELS[change.record_kind]._default_manager.filter(pk=change.record_id).first()
        if record is None:
            continue  # it went with its parent
        moved, _ = differences(change.after, snapshot(record))
        if moved:
            fields = ", ".join(moved)
            raise RuleBroken(
                f"{record.noun()} {str(record)!r} was changed since it was made ({fields}): undo that first"
            )
        later = [lost for lost in toll_of_deleting(record).deleted if lost.pk not in made]
        if later:
            raise RuleBroken(
                f"{record.noun()} {str(record)!r} has a {later[0].noun()} {str(later[0])!r} since: undo that first"
            )
        undoing.delete(record)

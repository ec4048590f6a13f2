"""Calibrating a venue: fitting to its walk tests, applying the fit as a version, going back to another."""

from typing import Any

from showplan.planner.calibration import Calibration as Fitted
from showplan.planner.calibration import calibrate
from showplan.planner.fitting import CalibrationError
from showplan.planner.walk_test import moment_of
from showplan.records.models import Calibration, Venue
from showplan.services.editing import edit
from showplan.services.errors import NotFound, PlanImpossible, RuleBroken
from showplan.services.rights import Caller, refuse_unless_editor
from showplan.services.scenes import build_scene


def fit_venue(venue: Venue, network_name: str) -> Fitted:
    """What the venue's readings say of its model. Raises NotFound, or PlanImpossible with every reason."""
    scene = build_scene(venue)
    networks = {network.name: network for network in scene.networks}
    if network_name not in networks:
        raise NotFound(f"there is no network {network_name!r} here; known: {', '.join(sorted(networks)) or 'none'}")
    try:
        return calibrate(scene, networks[network_name])
    except CalibrationError as error:
        raise PlanImpossible(error.faults) from error


def apply_fit(caller: Caller, venue: Venue, network_name: str) -> Calibration:
    """Keep the present fit as a new calibration and plan with it from now on; one revision, which can be undone.

    The venue's path-loss model becomes log-distance, the model that is fitted. Raises NotAllowed, PlanImpossible.
    """
    refuse_unless_editor(caller, venue.project)
    with edit(venue.project, caller.actor()) as change:
        fresh = _fresh(venue)
        fitted = fit_venue(fresh, network_name)
        earlier = list(Calibration.objects.filter(venue=fresh))
        record = _record(fresh, _next_name(earlier), network_name, fitted)
        for one in earlier:
            one.venue = fresh
            change.update(one, {"is_applied": False})
        change.create([record])
        change.update(fresh, {"path_loss_model": Venue.PathLossModel.LOG_DISTANCE})
    return record


def plan_with(caller: Caller, venue: Venue, name: str | None) -> None:
    """Plan with another of the venue's calibrations, or (None) with the tables alone. Raises NotFound, NotAllowed."""
    refuse_unless_editor(caller, venue.project)
    with edit(venue.project, caller.actor()) as change:
        kept = {one.name: one for one in Calibration.objects.filter(venue=venue)}
        if name is not None and name not in kept:
            raise NotFound(f"this venue has no calibration {name!r}; known: {', '.join(sorted(kept)) or 'none'}")
        if name is not None and venue.path_loss_model != Venue.PathLossModel.LOG_DISTANCE:
            raise RuleBroken("a calibration belongs to the log-distance model: choose that for the venue first")
        for one in sorted(kept.values(), key=lambda one: one.name == name):
            one.venue = venue
            change.update(one, {"is_applied": one.name == name})


def _record(venue: Venue, name: str, network_name: str, fitted: Fitted) -> Calibration:
    part = fitted.for_scene(name)
    return Calibration(
        venue=venue,
        name=name,
        network=network_name,
        reference_offset_db=part.reference_offset_db,
        path_loss_exponent=part.path_loss_exponent,
        shadowing_sigma_db=part.shadowing_sigma_db,
        losses="\n".join(f"{one.kind} {one.material} {one.loss_db:.2f}" for one in part.wall_losses),
        furthest_m=part.furthest_m,
        spots=fitted.spots,
        rms_before_db=fitted.rms_before_db,
        rms_after_db=fitted.rms_after_db,
        latest_reading_at=moment_of(fitted.latest_reading_at),
        is_applied=True,
    )


def _next_name(earlier: list[Calibration]) -> str:
    taken = {one.name for one in earlier}
    return next(name for number in range(1, len(earlier) + 2) if (name := f"calibration {number}") not in taken)


def _fresh(venue: Venue) -> Venue:
    found: Any = Venue.objects.select_related("project").filter(pk=venue.pk).first()
    if found is None:
        raise NotFound(f"venue {venue.name!r} was deleted meanwhile")
    found.project = venue.project
    return found  # type: ignore[no-any-return]

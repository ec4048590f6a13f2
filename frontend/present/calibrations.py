"""The calibration page of a venue: what its readings say of its model, and the calibrations kept so far."""

from typing import Any
from urllib.parse import urlencode

from frontend.present.choice import Option
from frontend.present.findings import finding_in_words
from frontend.present.heading import heading
from frontend.present.scatter import scatter_of
from frontend.present.words import counted, dbm, decibels, moment, number
from showplan.records.models import Calibration
from showplan.services.calibrating import fit_venue
from showplan.services.errors import NotFound, PlanImpossible
from showplan.services.knowledge import reference_tables
from showplan.services.planning import PlannedVenue

KIND_WORDS = {"reference loss": "loss at 1 m", "exponent": "path-loss exponent"}


def calibration_page(planned: PlannedVenue, asked: str, faults: list[str] | None = None) -> dict[str, Any]:
    """Everything the page shows for the network asked for, empty for the first one with readings. Raises NotFound.

    `faults` say why what was asked for just now was refused.
    """
    venue = planned.venue
    networks = networks_measured(planned)
    network = _picked(asked, networks)
    return {
        **heading(venue, "calibration"),
        "networks": [Option(one, one, f"?{urlencode({'network': one})}", one == network) for one in networks],
        "network": network,
        "readings_count": counted(len(planned.scene.readings), "reading"),
        "refused": faults or [],
        "model": venue.get_path_loss_model_display(),
        **(_fit(planned, network) if network else {}),
        **_kept(planned),
        "fingerprint": planned.plan.fingerprint,
        "planner_version": planned.plan.planner_version,
    }


def networks_measured(planned: PlannedVenue) -> list[str]:
    """The networks whose nodes sent in some reading of the venue, in the order of the scene."""
    scene = planned.scene
    measured = {scene.node(reading.transmitter).network for reading in scene.readings}
    return [network.name for network in scene.networks if network.name in measured]


def _picked(asked: str, networks: list[str]) -> str:
    if asked and asked not in networks:
        known = ", ".join(networks) or "none at all"
        raise NotFound(f"there is no network {asked!r} with readings here; there is: {known}")
    return asked or (networks[0] if networks else "")


def _fit(planned: PlannedVenue, network: str) -> dict[str, Any]:
    try:
        fitted = fit_venue(planned.venue, network)
    except PlanImpossible as error:
        return {"fit_faults": [str(fault) for fault in error.faults]}
    outliers = {one.subject.name for one in fitted.findings if one.code == "reading-stands-out"}
    return {
        "fit": {
            "scatter": scatter_of(list(fitted.readings), outliers),
            "has_outliers": bool(outliers),
            "errors": _errors(fitted),
            "readings": [_reading(one, outliers) for one in fitted.readings if one.state != "left out"],
            "coefficients": [_coefficient(one) for one in fitted.coefficients],
            "left_out": [one for one in fitted.readings if one.state == "left out"],
            "findings": [finding_in_words(one) for one in fitted.findings],
        }
    }


def _errors(fitted: Any) -> list[tuple[str, str, str]]:
    """(what, present model, calibrated model) of each error."""
    nearest_m, farthest_m = fitted.measured_distance_m
    lost = f"{fitted.spots_lost} of them lost" if fitted.spots_lost else "none lost"
    return [
        ("error (RMS)", decibels(fitted.rms_before_db), decibels(fitted.rms_after_db)),
        ("bias, predicted less measured", decibels(fitted.bias_before_db), "–"),
        ("shadowing (standard deviation)", decibels(fitted.sigma_before_db), decibels(fitted.sigma_db)),
        ("spots", f"{fitted.spots}, {lost}", f"{nearest_m:.1f} to {farthest_m:.1f} m from the sender"),
    ]


def _reading(one: Any, outliers: set[str]) -> dict[str, str]:
    """A reading that counts, under both models; one that was lost has no level to be off from."""

    def off(predicted_dbm: float) -> str:
        return "–" if one.received_dbm is None else decibels(predicted_dbm - one.received_dbm)

    place, _, taken_at = one.name.rpartition(", ")
    return {
        "place": place,
        "taken_at": moment(taken_at),
        "distance": f"{one.distance_m:.1f} m",
        "measured": "lost" if one.received_dbm is None else dbm(one.received_dbm),
        "before": dbm(one.before_dbm),
        "before_off": off(one.before_dbm),
        "after": dbm(one.after_dbm),
        "after_off": off(one.after_dbm),
        "remark": "stands out, counts less" if one.name in outliers else "",
    }


def _coefficient(one: Any) -> dict[str, Any]:
    unit = "" if one.kind == "exponent" else " dB"
    materials = reference_tables()["materials"]
    name = f"{one.kind}: {materials[one.material].name}" if one.material else KIND_WORDS[one.kind]

    def shown(value: float) -> str:
        return f"{value:.2f}{unit}".replace("-", "−")

    notes = ["kept: too few places measure it"] if one.is_kept else []
    notes += ["held at 0 dB"] if one.is_at_zero else []
    return {
        "name": name,
        "value": shown(one.value),
        "error": f"± {shown(one.standard_error)}",
        "prior": f"{shown(one.prior)} ± {shown(one.prior_width)}",
        "places": one.positions,
        "note": ", ".join(notes),
    }


def _kept(planned: PlannedVenue) -> dict[str, Any]:
    kept = list(Calibration.objects.filter(venue=planned.venue).order_by("created_at", "id"))
    used = planned.scene.venue.calibration
    return {
        "kept": [
            {
                "name": one.name,
                "network": one.network,
                "spots": one.spots,
                "exponent": number(round(one.path_loss_exponent, 2)),
                "errors": _before_and_after(one),
                "is_used": used is not None and one.name == used.name,
            }
            for one in kept
        ],
        "used": used.name if used is not None else "",
    }


def _before_and_after(one: Calibration) -> str:
    if one.rms_before_db is None or one.rms_after_db is None:
        return "–"
    return f"{decibels(one.rms_before_db)}, then {decibels(one.rms_after_db)}"

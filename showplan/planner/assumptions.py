"""What a plan takes for granted, in sentences that name model, tables and sources."""

from showplan import reference
from showplan.planner.path_loss import model_of
from showplan.planner.scene import Scene


def assumptions_of(scene: Scene) -> tuple[str, ...]:
    """The assumptions of a Scene's plan, in order."""
    venue = scene.venue
    environment = reference.environments()[venue.environment]
    sentences = [_path_loss(scene), f"Fade margin {venue.fade_margin_db:g} dB on every link."]
    if venue.calibration is not None:
        name, sigma_db = venue.calibration.name, venue.calibration.shadowing_sigma_db
        sentences.append(f"Measured ({name}): shadowing {sigma_db:.1f} dB, exponent and losses as fitted.")
    else:
        sigma_db = environment.shadowing_sigma_db
        sentences.append(f"Environment: {environment.name}, shadowing {sigma_db:g} dB ({environment.source}).")
    sentences += [
        "Nodes that move or are worn meet Rayleigh fading; others log-normal shadowing alone.",
        "Worn nodes: body loss over how the performer stands, facing 1/4, side 1/2, blocked 1/4 of the time,"
        " and an antenna that leans by 45 degrees (from memory; edit for the costume).",
        "A node that moves is judged over its zone: 5 % of the zone may be served worse than its margin says.",
    ]
    if scene.crowd_areas:
        sentences.append("Full house: the crowd's loss a metre is the venue's own assumption.")
    return (*sentences, "Regional limits are a dated summary; the regulator decides.")


def _path_loss(scene: Scene) -> str:
    venue = scene.venue
    model = model_of(venue)
    words = f"Path loss: {model.title}"
    if model.key == "log-distance" and venue.calibration is None:
        words += f", exponent {venue.path_loss_exponent:g}"
    if venue.surroundings and not model.adds_walls:
        words += f", surroundings: {venue.surroundings}"
    materials = " (material table, normal incidence)" if model.adds_walls else ""
    return f"{words}{materials}."

"""What the answer to 'does the data fit?' takes for granted."""

from showplan.planner.air.slots import slot_use
from showplan.planner.links import members
from showplan.planner.scene import Scene


def air_assumptions(scene: Scene) -> tuple[str, ...]:
    """Sentences on the show's data: what was not entered, and how losses and waits are worked out."""
    sending = [network for network in scene.networks if members(scene, network)]
    if not sending:
        return ()
    entered = {traffic.network for traffic in scene.traffics}
    found = []
    usual = [network.name for network in sending if network.name not in entered]
    if usual:
        found.append(
            f"Sending not entered for {', '.join(usual)}: 25 frames a second, every level in packets for all, repeated"
            " by each relay after up to 20 ms."
        )
    unfed = [network.name for network in sending if scene.feed(network.name) is None]
    if unfed:
        found.append(
            f"Feed not entered for {', '.join(unfed)}: a serial line of 57,600 baud with the slots in use alone,"
            " 256 octets of buffer."
        )
    assumed = [network.name for network in sending if slot_use(scene, members(scene, network)).is_assumed]
    if assumed:
        found.append(f"No slots entered for {', '.join(assumed)}: each output counts as one.")
    return (
        *found,
        "Air time: each try of a packet counts as independent of the others; a performer in the way spoils several.",
        "Networks on one radio channel count as heard everywhere in each other's load; a channel counts as busy above"
        " the standard's sensitivity plus 10 dB (from memory).",
    )

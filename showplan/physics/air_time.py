"""Air time: how many frames a limit on sending time lets through."""

import numpy as np

from showplan.physics.catalogue import Numeric, Parameter, Source, formula


@formula(
    expression="n = 1000 s / t",
    parameters=(
        Parameter("air_time_ms", "ms", "air time of one frame", None, 0.1, 100, maximum=1e6, above=0),
        Parameter("sending_share", "", "largest share of the time that may be sent in", None, 0, 1, 0, 1),
    ),
    result_unit="1/s",
    source=Source("count of frames in the time allowed", standing="derived"),
    validity="mean over the window of the limit; acknowledgements and waiting times come on top",
)
def frames_per_second(air_time_ms: Numeric, sending_share: Numeric) -> Numeric:
    """Most frames a second that one sender gets through a duty or dwell limit. Numbers or arrays that broadcast."""
    frames: Numeric = 1000 * np.asarray(sending_share) / air_time_ms
    return frames

"""Does the power last, safely? From the battery to the far end of the tape."""

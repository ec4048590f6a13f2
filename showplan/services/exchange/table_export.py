"""Records of the kit, and a venue's readings, as CSV: one line each, columns named as the API names its fields.

References stand in it by their names.
"""

import csv
import io

from showplan.services.exchange.table_cells import written
from showplan.services.exchange.timeline_table import TIMELINES, cells_of
from showplan.services.nouns import Noun
from showplan.services.record_writing import Parent


def table_of(noun: Noun, parent: Parent) -> str:
    """The noun's records in order of label (readings: of time), as CSV with commas and a header line; one query.

    A timeline has a line for each of its rows.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    if noun is TIMELINES:
        writer.writerows(cells_of(parent))  # type: ignore[arg-type]
        return out.getvalue()
    columns = {field.name: field.name for field in noun.fields}
    columns |= {name: f"{name}__{target.model.natural_key}" for name, target in noun.targets.items()}
    writer.writerow(columns)
    for values in noun.within(parent).order_by(noun.sort, "id").values_list(*columns.values()):
        writer.writerow([written(value) for value in values])
    return out.getvalue()

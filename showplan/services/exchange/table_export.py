"""Records of the kit as CSV: one line each, columns named as the API names its fields, references by name."""

import csv
import io

from showplan.records.models import Project
from showplan.services.exchange.table_cells import written
from showplan.services.nouns import Noun


def table_of(noun: Noun, project: Project) -> str:
    """The noun's records in order of label, as CSV with commas and a header line; in one query."""
    columns = {field.name: field.name for field in noun.fields}
    columns |= {name: f"{name}__{target.model.natural_key}" for name, target in noun.targets.items()}
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(columns)
    for values in noun.within(project).order_by(noun.model.natural_key, "id").values_list(*columns.values()):
        writer.writerow([written(value) for value in values])
    return out.getvalue()

"""Show timelines: which slot gets which level, from when on."""

from django.core.exceptions import ValidationError
from django.db import models

from showplan.records.base import LONGEST_NAME, Record
from showplan.records.people import Project
from showplan.timelines import LONGEST_TEXT, RowFault, read_rows


class ShowTimeline(Record):
    """One timeline. `rows` has a line for each: time in s, slot, level from 0 to 255, such as `12.5,3,255`.

    A slot is dark until its first row; the last row ends the timeline. Rows are kept in order of time.
    """

    owner = ("project",)

    project = models.ForeignKey(Project, on_delete=models.CASCADE, related_name="timelines")
    name = models.CharField(max_length=LONGEST_NAME)
    rows = models.TextField(max_length=LONGEST_TEXT)

    class Meta:
        ordering = ("name", "id")
        verbose_name = "timeline"
        constraints = (models.UniqueConstraint(fields=("project", "name"), name="timeline_name_unique"),)

    def clean(self) -> None:
        """Check the rows, and put them in order."""
        try:
            self.rows = read_rows(self.rows.replace("\r", "")).as_text()
        except RowFault as fault:
            raise ValidationError({"rows": str(fault)}) from fault
        if not self.rows:
            raise ValidationError({"rows": "must have a row: time in s, slot and level, such as 12.5,3,255"})

"""Who commands act for."""

from dataclasses import dataclass

from showplan.records.models import User
from showplan.services.editing import Actor
from showplan.services.rights import Caller

COMMAND = "command"
# Whoever may run commands on the server needs no role in a project.
THE_COMMAND_LINE = Actor(None, COMMAND)


@dataclass(frozen=True)
class CommandCaller(Caller):
    """A user for whom a command does something; the history says that it came from a command."""

    def actor(self) -> Actor:
        """The user, by way of a command."""
        assert isinstance(self.user, User)
        return Actor(self.user, COMMAND)

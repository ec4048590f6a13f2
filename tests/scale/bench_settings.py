"""The service's own settings with the benchmark's addresses beside its own, and connections that stay open."""

from showplan.settings import *  # noqa: F403
from showplan.settings import DATABASES

ROOT_URLCONF = "tests.scale.bench_urls"
DATABASES["default"]["CONN_MAX_AGE"] = None

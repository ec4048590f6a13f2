"""The WSGI door that a server such as gunicorn opens."""

import gc
import os

from django.core.wsgi import get_wsgi_application

from showplan.geometry.compiled import load

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "showplan.settings")
application = get_wsgi_application()
load()  # before the first request, so that none waits for the machine code
# What is loaded by now stays: the collector need not go through it again, which took 50 to 150 ms each time.
gc.collect()
gc.freeze()

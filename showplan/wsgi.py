"""The WSGI door that a server such as gunicorn opens."""

import os

from django.core.wsgi import get_wsgi_application

from showplan.geometry.compiled import load

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "showplan.settings")
application = get_wsgi_application()
load()  # before the first request, so that none waits for the machine code

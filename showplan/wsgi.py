"""The WSGI door that a server such as gunicorn opens."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "showplan.settings")
application = get_wsgi_application()

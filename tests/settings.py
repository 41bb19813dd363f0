"""The app's own settings on a folder of its own that ends with the test run."""

import os
import tempfile

os.environ["LEVELWIND_DATA"] = tempfile.mkdtemp(prefix="levelwind-tests-")
os.environ.pop("LEVELWIND_NETWORK", None)
os.environ.setdefault("TZ", "UTC")
# Playwright leaves its event loop running in the process; the database is used by this thread all the same.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"

from levelwind.project.settings import *  # noqa: F403
from levelwind.project.settings import DATABASES

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
if "sqlite" in str(DATABASES["default"]["ENGINE"]):
    # A test database need not survive a pulled plug.
    # A file, not memory: requests that come at once would lock one another out of a database in memory.
    DATABASES["default"]["TEST"] = {"NAME": f"{os.environ['LEVELWIND_DATA']}/test.sqlite3"}
    DATABASES["default"]["OPTIONS"]["init_command"] = "PRAGMA journal_mode=WAL; PRAGMA synchronous=OFF;"  # type: ignore[index]
# Each test's client would go through all static files once more; they are found as they are asked for.
WHITENOISE_AUTOREFRESH = True

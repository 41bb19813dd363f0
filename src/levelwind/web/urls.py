"""Every address of the app, area by area."""

from django.urls import include, path

from levelwind.web import entry, joined

urlpatterns = [
    path("", include("levelwind.web.bench.urls")),
    path("", include("levelwind.web.jobs.urls")),
    path("patterns/", include("levelwind.web.patterns.urls")),
    path("shelf/", include("levelwind.web.shelf.urls")),
    path("counter/", include("levelwind.web.counter.urls")),
    path("", include("levelwind.web.readings.urls")),
    path("o/", include("levelwind.web.answer.views")),
    path("help/", include("levelwind.web.help.views")),
    path("sign-in/", entry.sign_in_page, name="sign_in"),
    path("sign-out/", entry.sign_out, name="sign_out"),
    *joined.urlpatterns,
    path("media/<path:name>", entry.media_file, name="media"),
]

"""Each kind of page brings its own addresses, most of them twice: at the bench and under the phone's code."""

from levelwind.web.readings import code, overview, recordings, result, typed

urlpatterns = [
    *overview.urlpatterns,
    *recordings.urlpatterns,
    *typed.urlpatterns,
    *code.urlpatterns,
    *result.urlpatterns,
]

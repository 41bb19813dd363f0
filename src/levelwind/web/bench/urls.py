from django.urls import path

from levelwind.web.bench import fits, history, next_job, sheet, views

urlpatterns = [
    path("", views.bench_page, name="bench"),
    path("find/", views.find_page, name="find"),
    *history.urlpatterns,
    *next_job.urlpatterns,
    path("fits/", fits.fits_page, name="fits"),
    path("fits/serves/", fits.serves_act, name="fits_serves"),
    *sheet.urlpatterns,
]

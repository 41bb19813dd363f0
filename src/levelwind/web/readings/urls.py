"""Each kind of page brings its own addresses, most of them twice: at the bench and under the phone's code."""

from django.urls import path

from levelwind.web.readings import views

urlpatterns = [
    path("jobs/<str:tag>/readings/<str:moment>/", views.readings_page, name="readings"),
    path("jobs/<str:tag>/readings/<str:moment>/type/<str:kind>/", views.reading_type_save, name="reading_type"),
    path("jobs/<str:tag>/readings/<str:moment>/log/", views.log_save, name="reading_log"),
    path("jobs/<str:tag>/reading/<int:pk>/<str:what>/", views.reading_act, name="reading_act"),
]

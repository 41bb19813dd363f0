from django.urls import path

from levelwind.web import pattern_pick
from levelwind.web.patterns import builds, keeping, layout, pattern, pictures, signs, views

urlpatterns = [
    path("", views.patterns_page, name="patterns"),
    *pattern_pick.urlpatterns,
    path("add/", views.pattern_add_page, name="pattern_add"),
    path("<int:pk>/", pattern.pattern_page, name="pattern"),
    path("<int:pk>/place/<str:key>/", pattern.place_page, name="pattern_place"),
    path("<int:pk>/place/<str:key>/fit/", pattern.place_fit_act, name="pattern_place_fit"),
    path("<int:pk>/place/<str:key>/limits/", pattern.place_limits_act, name="pattern_place_limits"),
    path("<int:pk>/signs/", signs.signs_page, name="pattern_signs"),
    *layout.urlpatterns,
    *builds.urlpatterns,
    *keeping.urlpatterns,
    *pictures.urlpatterns,
]

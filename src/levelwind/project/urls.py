from django.urls import include, path

urlpatterns = [path("", include("levelwind.web.urls"))]

handler400 = "levelwind.web.doors.not_understood_page"
handler404 = "levelwind.web.doors.not_found_page"
handler500 = "levelwind.web.doors.broken_page"

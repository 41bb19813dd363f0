from django.urls import path

from levelwind.web.patterns import views

urlpatterns = [path("", views.patterns_page, name="patterns")]

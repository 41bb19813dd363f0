from django.urls import path

from levelwind.web.shelf import views

urlpatterns = [path("", views.shelf_page, name="shelf")]

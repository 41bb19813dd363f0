from django.urls import path

from levelwind.web.counter import views

urlpatterns = [path("", views.counter_page, name="counter"), path("owners/<int:pk>/", views.owner_page, name="owner")]

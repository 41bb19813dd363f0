from django.urls import path

from levelwind.web.counter import (
    bill,
    book,
    copies,
    hours,
    letters,
    lists,
    mail,
    own,
    people,
    sale,
    service,
    sunday,
    views,
)

urlpatterns = [
    path("", views.counter_page, name="counter"),
    path("shop/", views.shop_page, name="shop"),
    path("shop/first/", views.first_page, name="shop_first"),
    path("owners/new/", views.owner_new, name="owner_new"),
    *bill.urlpatterns,
    *sale.urlpatterns,
    *own.urlpatterns,
    *hours.urlpatterns,
    *sunday.urlpatterns,
    *service.urlpatterns,
    *letters.urlpatterns,
    *mail.urlpatterns,
    *book.urlpatterns,
    *people.urlpatterns,
    *lists.urlpatterns,
    *copies.urlpatterns,
    path("owners/<int:pk>/is/<str:what>/", views.owner_act, name="owner_act"),
    path("owners/<int:pk>/", views.owner_page, name="owner"),
]

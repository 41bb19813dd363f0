from django.urls import path

from levelwind.web.shelf import bones, boxes, count, orders, part, plan, views

urlpatterns = [
    path("", views.shelf_page, name="shelf"),
    path("add/", views.part_add_act, name="part_add"),
    path("part/<int:pk>/", part.part_page, name="part"),
    path("part/<int:pk>/same/", part.same_act, name="part_same"),
    path("part/<int:pk>/take-away/", part.delete_act, name="part_delete"),
    path("part/<int:pk>/entry/", part.entry_act, name="part_entry"),
    path("part/<int:pk>/back/<int:entry>/", part.put_back_act, name="part_put_back"),
    path("part/<int:pk>/order/", part.order_act, name="part_order"),
    path("part/<int:pk>/use/", part.use_act, name="part_use"),
    path("part/<int:pk>/offer/", part.offer_act, name="part_offer"),
    path("part/<int:pk>/offer/<int:offer>/", part.offer_changed_act, name="part_offer_changed"),
    path("part/<int:pk>/fit/", part.fit_act, name="part_fit"),
    path("part/<int:pk>/replaces/", part.replaces_act, name="part_replaces"),
    path("part/<int:pk>/replaces/<int:replacement>/take-back/", part.replaces_not_act, name="part_replaces_not"),
    path("part/<int:pk>/friction/<str:condition>/forget/", part.friction_forget_act, name="part_friction_forget"),
    path("part/<int:pk>/fit/<int:fit>/take-back/", part.fit_take_back_act, name="part_fit_take_back"),
    *count.urlpatterns,
    *boxes.urlpatterns,
    *plan.urlpatterns,
    path("orders/<int:pk>/came/", orders.came_act, name="order_came"),
    path("orders/", orders.orders_page, name="orders"),
    path("orders/<int:pk>/arrived/", orders.arrived_act, name="order_arrived"),
    path("orders/<int:pk>/called-off/", orders.called_off_act, name="order_called_off"),
    path("bone-box/", bones.bones_page, name="bones"),
    path("bone-box/<int:pk>/", bones.bone_page, name="bone"),
    path("bone-box/<int:pk>/take-away/", bones.delete_act, name="bone_delete"),
    path("bone-box/<int:pk>/bench/", bones.bench_act, name="bone_bench"),
    path("bone-box/<int:pk>/strip/", bones.strip_act, name="bone_strip"),
]

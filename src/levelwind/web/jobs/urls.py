"""Each step of the way brings its own addresses."""

from levelwind.web.jobs import apart, book_in, box, look_over, parts, price, prove, together

urlpatterns = [
    *book_in.urlpatterns,
    *look_over.urlpatterns,
    *price.urlpatterns,
    *apart.urlpatterns,
    *parts.urlpatterns,
    *together.urlpatterns,
    *prove.urlpatterns,
    *box.urlpatterns,
]

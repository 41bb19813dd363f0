"""Each step of the way brings its own addresses."""

from levelwind.web.jobs import (
    apart,
    book_in,
    box,
    drag,
    job,
    look_over,
    parts,
    photos,
    photos_phone,
    price,
    prove,
    tags,
    together,
)

urlpatterns = [
    *book_in.urlpatterns,
    *tags.urlpatterns,
    *job.urlpatterns,
    *photos.urlpatterns,
    *photos_phone.urlpatterns,
    *look_over.urlpatterns,
    *price.urlpatterns,
    *apart.urlpatterns,
    *parts.urlpatterns,
    *drag.urlpatterns,
    *together.urlpatterns,
    *prove.urlpatterns,
    *box.urlpatterns,
]

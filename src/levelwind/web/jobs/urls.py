"""Each step of the way brings its own addresses."""

from levelwind.web.jobs import (
    box,
    crate,
    ends,
    job,
    letters,
    look_over,
    money,
    naming,
    notes,
    parts,
    price,
    promise,
    prove,
    stays,
)
from levelwind.web.jobs.booking import book_in, tags
from levelwind.web.jobs.drag import page as drag
from levelwind.web.jobs.photos import block as photos
from levelwind.web.jobs.photos import phone as photos_phone
from levelwind.web.jobs.takedown import apart, first, stuck, together

urlpatterns = [
    *book_in.urlpatterns,
    *tags.urlpatterns,
    *job.urlpatterns,
    *photos.urlpatterns,
    *photos_phone.urlpatterns,
    *look_over.urlpatterns,
    *naming.urlpatterns,
    *price.urlpatterns,
    *promise.urlpatterns,
    *apart.urlpatterns,
    *first.urlpatterns,
    *parts.urlpatterns,
    *drag.urlpatterns,
    *stuck.urlpatterns,
    *together.urlpatterns,
    *prove.urlpatterns,
    *box.urlpatterns,
    *money.urlpatterns,
    *notes.urlpatterns,
    *letters.urlpatterns,
    *ends.urlpatterns,
    *crate.urlpatterns,
    *stays.urlpatterns,
]

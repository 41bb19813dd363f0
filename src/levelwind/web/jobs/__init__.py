"""A job's way, one module a step: book_in look_over price apart parts together prove box."""

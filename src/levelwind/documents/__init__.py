"""The shop's papers: a frozen sheet in, PDF bytes out, a module a sheet.

Every module holds a frozen dataclass and ``render(sheet) -> bytes``. ``layout(sheet)`` gives the same paper before it
is printed, for ``press.cautions`` and for tests. Nothing here reads a database, a clock or the network: the same sheet
gives the same bytes.
"""

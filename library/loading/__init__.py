"""Loading a library from files: read and check everything first, then write all of it or nothing.

`reading` parses the files and holds them to the schema, `checks` to each other, `storing` writes.
"""

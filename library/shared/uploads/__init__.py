"""A photo or a short clip from somebody's phone: checked, written anew, kept out of the web root.

Nothing of the sender's file is kept. It is decoded and drawn anew as JPEG or H.264, upright and no
larger than a page shows, so that where and with what it was taken, and whatever else was hidden in
it, stays behind; a clip's sound too. `fields` takes it in a form, `keeping` keeps and serves it.
"""

from library.shared.uploads.kinds import Kind, NotTaken, Upload
from library.shared.uploads.reading import read_upload

__all__ = ["Kind", "NotTaken", "Upload", "read_upload"]

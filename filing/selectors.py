"""Read stored files: their bytes as an open stream; paths never leave this room."""

from typing import BinaryIO

from filing import folder
from filing.models import StoredFile


class BytesMissing(Exception):
    """The row is there and its bytes are not."""


def open_bytes(file: StoredFile) -> BinaryIO:
    """The bytes as a stream to be closed by the caller; raises BytesMissing where they are gone."""
    try:
        return folder.place(file.storage_key).open("rb")
    except FileNotFoundError:
        raise BytesMissing(f"The bytes of {file} are missing in the data folder.") from None

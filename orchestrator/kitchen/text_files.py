"""What a kitchen's files say, in Spanish: texts.es.yaml, or as many files in texts.es/ as the texts are long."""

from pathlib import Path
from typing import Final
from zoneinfo import ZoneInfo

from orchestrator.kitchen.documents import Document, read_document
from orchestrator.kitchen.files import TextsFile
from orchestrator.kitchen.validation import validate

TEXTS: Final = "texts.es.yaml"
FOLDER: Final = "texts.es"


def read_texts(folder: Path, zone: ZoneInfo) -> tuple[list[Document], dict[str, str]]:
    """All translations of a folder.

    Args:
        folder: The kitchen's, or the program's own.
        zone: The kitchen's.

    Returns:
        The files, with their faults, and the texts that were right by what stands in the kitchen's files.
    """
    names = [TEXTS] if (folder / TEXTS).is_file() else []
    names += sorted(f"{FOLDER}/{path.name}" for path in (folder / FOLDER).glob("*.yaml"))
    documents = [read_document(folder, name) for name in names]
    texts: dict[str, str] = {}
    said: dict[str, str] = {}
    for document in documents:
        read = validate(document, TextsFile, document.data, (), zone) if document.readable else None
        for text, told in (read.texts if read is not None else {}).items():
            if said.setdefault(text, document.file) != document.file:
                document.add(("texts", text), f"{text!r} is translated in {said[text]} already", "keep one of the two")
            texts.setdefault(text, told)
    return documents, texts

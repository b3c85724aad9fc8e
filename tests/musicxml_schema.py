"""The MusicXML 4.0 schema (W3C Music Notation Community Group), as the `musicxml` package carries it."""

from functools import cache
from importlib.util import find_spec
from pathlib import Path

from lxml import etree


def _folder_of(package: str) -> Path:
    spec = find_spec(package)
    assert spec is not None
    assert spec.submodule_search_locations
    return Path(spec.submodule_search_locations[0])


def schema_file() -> Path:
    """Where the schema lies."""
    return _folder_of("musicxml") / "generate_classes" / "musicxml_4_0.xsd"


@cache
def schema() -> etree.XMLSchema:
    """The schema, with the two that it imports read from the `xmlschema` package instead of an address."""
    shipped = _folder_of("xmlschema") / "schemas"
    local = {"xml.xsd": shipped / "XML" / "xml.xsd", "xlink.xsd": shipped / "XLINK" / "xlink.xsd"}
    tree = etree.parse(schema_file())
    for imported in tree.iterfind("{http://www.w3.org/2001/XMLSchema}import"):
        name = imported.get("schemaLocation").rpartition("/")[2]
        imported.set("schemaLocation", local[name].as_uri())
    return etree.XMLSchema(tree)


def schema_errors(document: bytes) -> list[str]:
    """What the schema says against a file; its document type is not looked up."""
    parser = etree.XMLParser(load_dtd=False, no_network=True, resolve_entities=False)
    found = schema()
    found.validate(etree.fromstring(document, parser))
    return [f"line {error.line}: {error.message}" for error in found.error_log]

"""The document of exchange names every finding that reading a file can bring, its severity, and no other."""

import re
from pathlib import Path

ROOT = Path(__file__).parents[3]
SOURCES = [
    *sorted((ROOT / "src" / "fretwright" / "exchange").glob("*.py")),
    ROOT / "src" / "fretwright" / "flows" / "exchange.py",
]
_ADDED = re.compile(r'losses\.add\(\s*"([a-z-]+)"(.*?)\n\s*\)\n|self\.add\("([a-z-]+)"([^\n]*)\n', re.DOTALL)
_MADE = re.compile(r'Finding\("([a-z-]+)", Severity\.([A-Z]+)')
_SHORT = re.compile(r'losses\.add\("([a-z-]+)"')


def in_code() -> dict[str, str]:
    found: dict[str, str] = {}
    for path in SOURCES:
        text = path.read_text(encoding="utf-8")
        for code in _SHORT.findall(text):
            found[code] = "warning"
        for long, rest, short, line in _ADDED.findall(text):
            severity = re.search(r"severity=Severity\.([A-Z]+)", rest or line)
            found[long or short] = severity[1].lower() if severity else "warning"
        found |= {code: severity.lower() for code, severity in _MADE.findall(text)}
    return found


def test_every_code_is_documented_with_its_severity_and_no_other() -> None:
    text = (ROOT / "docs" / "exchange.md").read_text(encoding="utf-8")
    told = dict(re.findall(r"^\| `([a-z-]+)` \| (error|warning|advice) \|", text, re.MULTILINE))
    assert len(told) > 10
    assert told == in_code()

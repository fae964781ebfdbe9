"""What a reader finds in a picture."""

from xml.etree import ElementTree as ET

SVG = "{http://www.w3.org/2000/svg}"


def words(svg: str) -> list[str]:
    """List the texts that are drawn, in their order."""
    return [text.text or "" for text in ET.fromstring(svg).iter(f"{SVG}text")]


def markers(svg: str, colour: str) -> int:
    """Count the markers (repeated shapes) that are filled or edged in a colour."""
    uses = ET.fromstring(svg).iter(f"{SVG}use")
    return sum(colour.lower() in use.get("style", "").lower() for use in uses)

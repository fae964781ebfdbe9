"""Contrast as defined by WCAG 2.1, success criterion 1.4.3: at least 4.5:1 for text."""

_CONTRAST = """(within) => {
  const canvas = document.createElement('canvas').getContext('2d', { willReadFrequently: true });
  const rgba = (colour) => {
    canvas.clearRect(0, 0, 1, 1);
    canvas.fillStyle = colour;
    canvas.fillRect(0, 0, 1, 1);
    return [...canvas.getImageData(0, 0, 1, 1).data];
  };
  const light = ([r, g, b]) => {
    const part = (v) => ((v /= 255) <= 0.03928 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
    return 0.2126 * part(r) + 0.7152 * part(g) + 0.0722 * part(b);
  };
  const behind = (node) => {
    for (let here = node; here; here = here.parentElement) {
      const colour = rgba(getComputedStyle(here).backgroundColor);
      if (colour[3] > 0) return colour;
    }
    return [255, 255, 255, 255];
  };
  const found = [];
  const kinds = 'h1, h2, h3, h4, legend, span, p, label, input, select, textarea, '
    + 'button, td, th, caption, pre, summary';
  for (const node of document.querySelectorAll(within)) {
    for (const part of node.querySelectorAll(kinds)) {
      if (part.disabled || !part.getClientRects().length || part.closest('svg')) continue;
      const [one, other] = [light(rgba(getComputedStyle(part).color)), light(behind(part))];
      const ratio = (Math.max(one, other) + 0.05) / (Math.min(one, other) + 0.05);
      const words = part.innerText || part.tagName;
      found.push([Math.round(ratio * 100) / 100, `${part.tagName}: ${words.slice(0, 40)}`]);
    }
  }
  return found;
}"""


def contrasts(page, within: str) -> list[tuple[float, str]]:
    """Give the contrast of each text inside the elements of a selector, with its first words."""
    return page.evaluate(_CONTRAST, within)

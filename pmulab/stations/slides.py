"""Write the slides: one page that shows itself, and a file for a slide program."""

from hashlib import sha256
from pathlib import Path

from pmulab.errors import UserError
from pmulab.sharing.slides import deck, deck_html, deck_pptx
from pmulab.stations.analyse import FINDINGS
from pmulab.stations.answer import Answer
from pmulab.stations.current import current_findings
from pmulab.stations.opening import Opened, opened
from pmulab.stations.reasons import maker_lines
from pmulab.study import Study
from pmulab.wording.plans import telling_lines

PAGE, FILE = "slides.html", "slides.pptx"
_WRITTEN = "slides written"


def slides(study: Opened, made_by: str = "") -> Answer[Path]:
    """Write slides.html and slides.pptx from findings.json.

    Parameters
    ----------
    study : Study or path-like
    made_by : str, default=''
        Who shows them, on the first slide; no client and no address.

    Returns
    -------
    Answer
        Its value is the path of the page.

    Raises
    ------
    UserError
        If nothing was analysed yet, plan or records changed since, or the slides were edited.
    """
    folder = opened(study)
    findings = current_findings(folder)
    shown = deck(findings, made_by)
    made = {PAGE: deck_html(shown).encode(), FILE: deck_pptx(shown)}
    with folder.writing():
        _keep_edited(folder)
        # written down first: a run that is killed in between knows its own slides again
        folder.record(
            _WRITTEN,
            findings=folder.file_hash(FINDINGS),
            files={name: sha256(data).hexdigest() for name, data in made.items()},
        )
        page, file = (folder.remake(name, data) for name, data in made.items())
    lines = (
        *maker_lines(made_by),
        *telling_lines(findings.plan),
        f"{len(shown.slides)} slides are ready. Open {PAGE} in a browser: the arrow keys turn "
        "the slides, N shows the words to say, printing gives one slide a page.",
        f"{FILE} holds the same for a slide program. Edit it under another name: it is written "
        "again only as long as nobody has changed it.",
    )
    return Answer(lines, page, (page, file))


def _keep_edited(study: Study) -> None:
    """Refuse to write over slides that were changed since the kit wrote them."""
    written = [entry.detail["files"] for entry in study.journal() if entry.event == _WRITTEN]
    for name in (PAGE, FILE):
        known = {files[name] for files in written}
        if study.path(name).exists() and study.file_hash(name) not in known:
            raise UserError(
                f"{study.path(name)} was edited, or is not from pmulab, and is never overwritten.",
                "Give it another name, then make the slides again. Nothing was changed.",
            )

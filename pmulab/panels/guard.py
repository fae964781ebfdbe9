"""Keep the single-key commands of JupyterLab away from a form, and give the form its looks.

Without it, typing 'd d' while a drop-down list of a form has the focus deletes the cell that
holds the form: the notebook takes each single key that reaches it for a command. One listener
watches over all forms of a page, so that a form is guarded even where its own part came too late.
It also looks whether Python still runs: once it does not, an old answer, such as the card of the
client before, must not stand there as if it were new.
"""

import anywidget

_LISTEN = """
export default {
  render({ el }) {
    const stop = (event) => {
      const plain = !event.ctrlKey && !event.metaKey && !event.altKey && event.key.length === 1;
      if (plain && event.target.closest(".pmulab-panel")) event.stopPropagation();
    };
    const look = () => {
      for (const panel of document.querySelectorAll(".pmulab-panel")) {
        const status = panel.closest(".jp-NotebookPanel")
          ?.querySelector(".jp-Notebook-ExecutionIndicator")?.dataset.status;
        const gone = ["unknown", "dead", "terminating"].includes(status);
        if (gone === panel.classList.contains("pmulab-gone")) continue;
        panel.classList.toggle("pmulab-gone", gone);
        panel.querySelectorAll("button").forEach((button) => { button.inert = gone; });
      }
    };
    const attach = (tries) => {
      const panel = el.closest(".pmulab-panel");
      if (!panel) {
        if (tries < 200) setTimeout(attach, 25, tries + 1);
        return;
      }
      panel.dataset.pmulabGuard = "on";
      if (document.body.dataset.pmulabGuard) return;
      document.body.dataset.pmulabGuard = "on";
      document.body.addEventListener("keydown", stop);
      setInterval(look, 1000);
    };
    attach(0);
  },
};
"""

_LOOKS = """
.jp-Notebook .jp-RenderedText pre { word-break: normal; overflow-wrap: anywhere; }
.pmulab-panel {
  border: 1px solid var(--jp-border-color1, #bdbdbd);
  border-radius: 6px;
  padding: 12px 18px 16px 18px;
  margin: 4px 2px;
  max-width: 60em;
  color: var(--jp-ui-font-color0, #000);
  background: var(--jp-layout-color1, #fff);
  overflow: visible;
}
[data-jp-theme-light="false"] .pmulab-panel { color-scheme: dark; }
.pmulab-panel iframe, .pmulab-card { color-scheme: light; }
.pmulab-panel .widget-html-content, .pmulab-panel .jupyter-widgets { line-height: 1.45; }
.pmulab-panel .widget-html, .pmulab-panel .widget-html-content {
  height: auto; color: var(--jp-ui-font-color0, #000); font-size: 14px; overflow: visible;
}
.pmulab-panel h3 { margin: 0 0 4px 0; font-size: 17px; }
.pmulab-panel h4 { margin: 14px 0 2px 0; font-size: 14px; }
.pmulab-panel p { margin: 4px 0; max-width: 52em; }
.pmulab-panel .widget-inline-hbox {
  flex-direction: column; align-items: flex-start; height: auto; width: auto; margin: 6px 0 0 0;
}
.pmulab-panel .widget-inline-hbox > .widget-label {
  text-align: left; max-width: none; width: auto; font-size: 14px; height: auto;
  font-weight: 600; color: var(--jp-ui-font-color0, #000); overflow: visible;
  white-space: normal; line-height: 1.4;
}
.pmulab-panel .widget-checkbox.widget-inline-hbox { flex-direction: row; align-items: center; }
.pmulab-panel .widget-checkbox .widget-label-basic { font-size: 14px; width: auto; gap: 8px;
  color: var(--jp-ui-font-color0, #000); }
.pmulab-panel input:not([type="checkbox"]), .pmulab-panel select, .pmulab-panel textarea {
  min-height: 32px; font-size: 14px; width: 100%; max-width: 34em; align-self: flex-start;
  color: var(--jp-ui-font-color0, #000); flex: 0 0 auto;
  border: 1px solid var(--jp-ui-font-color2, #616161);
}
.pmulab-panel :is(input, select, textarea):disabled { opacity: 1 !important; border-style: dashed;
  color: var(--jp-ui-font-color1, #333); }
.pmulab-panel select { appearance: auto; background-image: none !important; }
.pmulab-panel .pmulab-wide :is(select, input) { max-width: 100%; text-overflow: ellipsis; }
.pmulab-panel textarea { max-width: 52em; font-family: inherit; line-height: 1.45; }
.pmulab-panel input[type="number"], .pmulab-panel input[type="date"] { max-width: 12em; }
.pmulab-panel :focus-visible { outline: 3px solid var(--jp-brand-color1, #1976d2);
  outline-offset: 1px; }
.pmulab-panel .pmulab-hint .widget-html-content {
  font-size: 13px; color: var(--jp-ui-font-color1, #333);
}
.pmulab-panel .pmulab-fields { display: grid; gap: 4px 28px;
  grid-template-columns: repeat(auto-fit, minmax(20em, 1fr)); align-items: start; }
.pmulab-panel .jupyter-button { height: 34px; font-size: 14px; padding: 0 16px;
  width: fit-content; align-self: flex-start; flex: 0 0 auto;
  margin: 14px 8px 4px 0; line-height: 32px; font-weight: 600;
  border: 1px solid var(--jp-ui-font-color2, #616161);
  color: var(--jp-ui-font-color0, #000); background: var(--jp-layout-color2, #eee); }
.pmulab-panel .jupyter-button.mod-primary { background: #12376b; color: #fff;
  border-color: #fff; }
.pmulab-panel .jupyter-button.jupyter-button:disabled { opacity: 1;
  border: 1px dashed var(--jp-ui-font-color2, #616161);
  background: var(--jp-layout-color1, #fff); color: var(--jp-ui-font-color1, #333); }
.pmulab-said { display: block; padding: 4px 12px; margin: 8px 0;
  border-left: 6px solid var(--jp-brand-color1, #1976d2); }
.pmulab-said.pmulab-look { border-left-color: #b35900; }
.pmulab-said.pmulab-problem { border-left-color: #c62f42; }
.pmulab-said p { white-space: pre-line; }
.pmulab-panel pre { white-space: pre-wrap; overflow-wrap: anywhere; font-size: 13px;
  background: var(--jp-layout-color2, #eee); color: var(--jp-ui-font-color0, #000);
  padding: 6px 10px; margin: 4px 0; }
.pmulab-panel table { border-collapse: collapse; margin: 8px 0; }
.pmulab-panel caption { text-align: left; font-weight: 600; padding: 6px 0;
  color: var(--jp-ui-font-color0, #000); font-size: 14px; }
.pmulab-panel th, .pmulab-panel td { text-align: left; vertical-align: top; padding: 5px 10px;
  border: 1px solid var(--jp-border-color1, #bdbdbd); }
.pmulab-panel th { background: var(--jp-layout-color2, #eee); }
.pmulab-panel figure { margin: 10px 0; }
.pmulab-panel figure svg { background: #fff; }
.pmulab-panel iframe { width: 100%; height: min(900px, 75vh); resize: vertical; background: #fff;
  border: 1px solid var(--jp-border-color1, #bdbdbd); }
.pmulab-panel summary { cursor: pointer; font-weight: 600; margin: 10px 0 4px 0; }
.pmulab-panel progress { width: 16em; vertical-align: middle; accent-color: #1976d2; }
.pmulab-panel .jupyter-button.pmulab-cancel { width: auto; }
.pmulab-panel .pmulab-choose-file label { display: block; font-weight: 600; font-size: 14px;
  color: var(--jp-ui-font-color0, #000); margin-top: 6px; }
.pmulab-panel .pmulab-choose-file input { display: block; font-weight: 400;
  padding: 4px; min-height: 0;
  border: 1px solid var(--jp-ui-font-color2, #616161); margin-top: 2px; }
.pmulab-panel .jupyter-widgets-disconnected::before { content: none; }
.pmulab-panel.pmulab-gone :is(.pmulab-said, .pmulab-card) { display: none; }
.pmulab-panel.pmulab-gone .jupyter-button { opacity: 0.5; }
.pmulab-panel:is(.jupyter-widgets-disconnected, .pmulab-gone)::before {
  content: "This form is asleep, and its buttons do nothing. What was saved is in the study "
    "folder. To wake the form, choose Run > Run All Cells; once more if it stays empty.";
  display: block; font-size: 14px; font-family: inherit; line-height: 1.45; padding: 6px 12px;
  margin-bottom: 8px; border-left: 6px solid #c62f42; color: var(--jp-ui-font-color0, #000);
  background: var(--jp-layout-color2, #eee); }
.pmulab-card { border: 3px solid #12376b; border-radius: 8px; padding: 12px 20px; margin: 10px 0;
  background: #fff; color: #1a1a1a; font-size: 24px; line-height: 1.5; }
.pmulab-card strong { color: #12376b; }
.pmulab-card .pmulab-steps { font-size: 15px; line-height: 1.45; margin: 0 0 8px 1em; }
"""


class Guard(anywidget.AnyWidget):
    """An invisible part of every panel; see the module."""

    _esm = _LISTEN
    _css = _LOOKS

(function () {
  "use strict";
  const find = (id) => document.getElementById(id);
  const round = JSON.parse(find("round").textContent);
  const pictures = JSON.parse(find("pictures").textContent);
  const CODE = /^[A-Z]{1,3}[0-9]{1,3}$/;
  const ENTRIES = ["photos", "pairs", "guesses"];
  let stored = true;
  let dirty = false;
  let earlier = null;

  const place = (assessor) => `pmulab-scores-${round.round}-${assessor}`;
  const fresh = (assessor, operator) => ({
    format: round.format, kind: "pmulab scores", round: round.round, number: round.number,
    assessor, operator, photos: {}, pairs: {}, guesses: {},
  });
  const say = (text) => { find("begin-said").textContent = text; };

  function kept(assessor) {
    try { return JSON.parse(localStorage.getItem(place(assessor))); } catch { return null; }
  }

  const store = {
    picture: (name) => pictures[name],
    told: () => (stored
      ? "Kept in this browser."
      : "This browser keeps nothing: save the answer file before you close the page."),
    save(answers) {
      dirty = true;
      try { localStorage.setItem(place(answers.assessor), JSON.stringify(answers)); stored = true; }
      catch { stored = false; }
    },
    file(answers) {
      const address = URL.createObjectURL(new Blob([JSON.stringify(answers, null, 1) + "\n"], { type: "application/json" }));
      const link = document.createElement("a");
      link.href = address;
      link.download = `scores-round-${String(round.number).padStart(2, "0")}-${answers.assessor}.json`;
      document.body.append(link);
      link.click();
      link.remove();
      setTimeout(() => URL.revokeObjectURL(address), 10000);
      dirty = false;
    },
  };

  async function chosen(event) {
    earlier = null;
    const file = event.target.files[0];
    if (!file) return;
    try {
      if (file.size > 2000000) throw new Error("size");
      const content = JSON.parse(await file.text());
      const whole = content.kind === "pmulab scores" && CODE.test(content.assessor)
        && ENTRIES.every((name) => content[name] && typeof content[name] === "object");
      if (!whole) throw new Error("kind");
      if (content.round !== round.round) { say("This answer file belongs to another round."); return; }
      earlier = content;
      find("assessor").value = content.assessor;
      document.querySelector(`input[name=operator][value=${content.operator ? "yes" : "no"}]`).checked = true;
      say("The answer file was read: press the button to go on from it.");
    } catch { say("This file cannot be read as an answer file of a scoring page."); }
  }

  function begin() {
    const assessor = find("assessor").value.trim().toUpperCase();
    const operator = document.querySelector("input[name=operator]:checked");
    if (!CODE.test(assessor)) { say("Type your assessor code: letters and digits, such as R2."); find("assessor").focus(); return; }
    if (!operator) { say("Say whether you did any of this work yourself."); return; }
    const answers = (earlier && earlier.assessor === assessor ? earlier : kept(assessor)) || fresh(assessor, false);
    answers.operator = operator.value === "yes";
    store.save(answers);
    find("begin").hidden = true;
    find("scorer").hidden = false;
    const running = startScoring(find("scorer"), round, store, answers);
    document.addEventListener("keydown", (event) => {
      if (!find("scorer").contains(event.target)) running.keys(event);
    });
  }

  find("earlier").addEventListener("change", chosen);
  find("start").addEventListener("click", begin);
  find("assessor").addEventListener("keydown", (event) => { if (event.key === "Enter") begin(); });
  window.addEventListener("beforeunload", (event) => { if (dirty && !stored) event.preventDefault(); });
})();

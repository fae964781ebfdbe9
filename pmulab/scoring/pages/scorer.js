// The scoring form: one picture at a time, by keyboard, mouse or touch. Used by the page and by the
// notebook; each gives a store with picture(name), save(answers) and, for the page, file(answers).
function startScoring(root, round, store, answers) {
  "use strict";
  const undoable = [];
  const steps = [
    ...round.photos.map((code) => ({ part: "photos", code })),
    ...round.pairs.map((code) => ({ part: "pairs", code })),
    ...round.photos.map((code) => ({ part: "guesses", code })),
  ];
  const PARTS = { photos: "photos", pairs: "side by side", guesses: "guesses" };
  const PAIRS = [["left", "Left kept more"], ["same", "No difference"], ["right", "Right kept more"]];
  const GUESSES = [["A", round.ways.A], ["B", round.ways.B], ["no_idea", "No idea"]];
  const SEGMENTS = Array.from({ length: 10 }, (_, place) => place + 1);
  let at = 0;
  let asked = 0;
  let refusing = false;

  const make = (kind, given, ...inside) => {
    const node = document.createElement(kind);
    for (const [name, value] of Object.entries(given || {})) {
      if (name === "click") node.addEventListener("click", value);
      else if (value === true) node.setAttribute(name, "");
      else if (value !== false && value !== null) node.setAttribute(name, value);
    }
    node.append(...inside);
    return node;
  };
  const words = (name) => name.replaceAll("_", " ");
  const given = (step) => answers[step.part][step.code];
  const complete = (step) => {
    const answer = given(step);
    if (answer === undefined) return false;
    if (step.part !== "photos") return true;
    return "photo_quality" in answer || round.questions.every((one) => one.name in answer);
  };
  const left = () => steps.filter((step) => !complete(step)).length;
  const answered = () => Object.entries(PARTS).flatMap(([part, many]) => {
    const own = steps.filter((step) => step.part === part);
    return own.length ? [`${own.filter(complete).length} of ${own.length} ${many}`] : [];
  }).join(", ");

  function keep(step, value) {
    const before = given(step);
    undoable.push({ at, asked, step, before: before === undefined ? undefined : structuredClone(before) });
    if (undoable.length > 500) undoable.shift();
    if (value === undefined) delete answers[step.part][step.code];
    else answers[step.part][step.code] = value;
    store.save(answers);
  }

  function answer(question, value) {
    const step = steps[at];
    const now = structuredClone(given(step) || {});
    delete now.photo_quality;
    now[question.name] = value;
    keep(step, now);
  }

  function grade(number, value) {
    const known = complete(steps[at]);
    answer(round.questions[number], value);
    if (!known && complete(steps[at])) { go(at + 1); return; }
    const open = (place) => !(round.questions[place].name in given(steps[at]));
    const later = round.questions.map((_, place) => place);
    asked = later.find((place) => place > number && open(place)) ?? later.find(open) ?? number;
    draw(true);
  }

  function toggle(segment) {
    const question = round.questions[asked];
    const draft = new Set(drafted());
    if (!draft.delete(segment)) draft.add(segment);
    root.dataset.draft = JSON.stringify([...draft].sort((a, b) => a - b));
    if (question.name in (given(steps[at]) || {})) answer(question, drafted());
    draw(true);
  }

  function drafted() {
    const question = round.questions[asked];
    const known = (given(steps[at]) || {})[question.name];
    return root.dataset.draft ? JSON.parse(root.dataset.draft) : known || [];
  }

  function confirmSegments(kept) {
    const number = asked;
    delete root.dataset.draft;
    grade(number, kept);
  }

  function single(part, value) {
    keep(steps[at], value);
    if (at + 1 < steps.length) go(at + 1);
    else end();
  }

  function refuse(reason) {
    keep(steps[at], { photo_quality: reason });
    refusing = false;
    go(at + 1);
  }

  function go(place) {
    delete root.dataset.draft;
    refusing = false;
    if (place >= steps.length) return end();
    at = Math.max(0, place);
    const now = given(steps[at]) || {};
    const open = round.questions.findIndex((one) => !(one.name in now));
    asked = open < 0 ? 0 : open;
    return draw(false);
  }

  function undo() {
    const last = undoable.pop();
    if (!last) return;
    if (last.before === undefined) delete answers[last.step.part][last.step.code];
    else answers[last.step.part][last.step.code] = last.before;
    store.save(answers);
    delete root.dataset.draft;
    refusing = false;
    at = last.at;
    asked = last.asked;
    draw(false);
  }

  const key = (text) => make("kbd", {}, text);
  const button = (shortcut, text, click, more) =>
    make("button", { type: "button", click, ...more }, ...(shortcut ? [key(shortcut)] : []), text);

  function heading() {
    const step = steps[at];
    const part = steps.filter((one) => one.part === step.part);
    const place = part.indexOf(step) + 1;
    const name = { photos: "Photo", pairs: "Side by side", guesses: "Your guess" }[step.part];
    return make("h2", { tabindex: "-1" }, `${name} ${place} of ${part.length}`);
  }

  function top() {
    const bar = make("progress", { max: steps.length, value: steps.length - left(), "aria-label": "Answered" });
    const said = make("span", { role: "status", class: "kept" }, `Answered: ${answered()}. ${store.told()}`);
    return make("div", { class: "top" }, heading(), bar, said);
  }

  function figure(name, label) {
    const image = make("img", { alt: label, class: "picture" });
    Promise.resolve(store.picture(name)).then((address) => { image.src = address; });
    return make("figure", {}, image);
  }

  function segments(question, number) {
    const now = number === asked ? drafted() : (given(steps[at]) || {})[question.name] || [];
    const known = question.name in (given(steps[at]) || {});
    const parts = SEGMENTS.map((part) =>
      button(String(part % 10), "", () => { asked = number; toggle(part); },
        { "aria-pressed": String(now.includes(part)), "aria-label": `part ${part} kept`, "data-part": part }));
    const all = button("A", "all ten are kept", () => { asked = number; confirmSegments(SEGMENTS); });
    const none = button("N", "none is kept", () => { asked = number; confirmSegments([]); });
    const these = now.length ? `the ${now.length} marked ${now.length === 1 ? "is" : "are"} kept` : "the marked ones are kept";
    const done = button("Enter", known ? `noted: ${these}` : these,
      () => { asked = number; confirmSegments(drafted()); }, { class: "confirm", disabled: !now.length });
    return [
      make("p", { class: "hint" }, "Part 1 is at the left end of the line in the picture, part 10 (key 0) at its right end. Mark the parts that are kept, then press Enter."),
      make("div", { class: "parts" }, ...parts), done, all, none,
    ];
  }

  function question(one, number) {
    const now = (given(steps[at]) || {})[one.name];
    const grades = one.kind === "grade";
    const options = one.options.map(([value, told], place) => {
      const shortcut = grades ? value : String(place + 1);
      const text = grades ? told || value : told;
      return button(shortcut, text, () => grade(number, value),
        { "aria-pressed": String(now === value), "data-value": value });
    });
    const inside = one.kind === "segments" ? segments(one, number) : options;
    const hint = one.hint ? [make("p", { class: "hint" }, one.hint)] : [];
    const seen = number === asked && !refusing ? " now" : "";
    const open = () => { delete root.dataset.draft; refusing = false; asked = number; draw(true); };
    return make("fieldset", { class: `question ${one.kind}${seen}`, "data-name": one.name },
      make("legend", {}, one.title), make("div", { class: "inside" }, ...hint, ...inside),
      button("", `${one.title}: ${answerWords(one, now)}`, open, { class: "summary", "aria-expanded": "false" }));
  }

  function answerWords(one, now) {
    if (now === undefined) return "open";
    if (one.kind === "segments" && now.length === SEGMENTS.length) return "all ten kept";
    if (one.kind === "segments") return now.length ? `${now.length} kept (${now.join(", ")})` : "none kept";
    const found = one.options.find(([value]) => value === now);
    return found && found[1] ? found[1] : now;
  }

  function refusal() {
    const now = (given(steps[at]) || {}).photo_quality;
    if (!refusing && !now) return [button("X", "This photo cannot be judged", () => { refusing = true; draw(true); })];
    const reasons = round.refusals.map((reason) =>
      button("", words(reason), () => refuse(reason), { "aria-pressed": String(now === reason), "data-reason": reason }));
    const no = now ? [] : [button("X", "It can be judged", () => { refusing = false; draw(true); })];
    return [make("fieldset", { class: "question now" }, make("legend", {}, "Why it cannot be judged"), ...reasons, ...no)];
  }

  function choices(options, part, ask, hint) {
    const now = given(steps[at]);
    const inside = options.map(([value, text], place) =>
      button(value === "no_idea" ? "0" : String(place + 1), text, () => single(part, value),
        { "aria-pressed": String(now === value), "data-value": value }));
    return make("fieldset", { class: "question now" }, make("legend", {}, ask),
      make("p", { class: "hint" }, hint), ...inside);
  }

  function asking() {
    const step = steps[at];
    if (step.part === "photos") return [...round.questions.map(question), ...refusal()];
    if (step.part === "pairs") {
      return [choices(PAIRS, "pairs", "Which eyelid kept more of the line?",
        "Both are of one client. Say left or right as the pictures stand here.")];
    }
    return [choices(GUESSES, "guesses", "Which way do you think was used here?",
      "A guess is enough. It shows whether the ways can be told apart; it changes none of your scores.")];
  }

  function pictures() {
    const step = steps[at];
    if (step.part === "pairs") {
      return [figure(`${step.code}-1`, "Left picture"), figure(`${step.code}-2`, "Right picture")];
    }
    return [figure(step.code, `Photo ${step.code}`)];
  }

  function moves(last) {
    const next = complete(steps[at]) ? "Next" : "Leave open, next";
    const parts = [
      button("\u2190", "Back", () => go(at - 1), { disabled: at === 0 }),
      button("U", "Undo", undo, { disabled: !undoable.length }),
      button("\u2192", next, () => go(at + 1), { class: complete(steps[at]) ? "main" : "" }),
    ];
    if (last && store.file) parts.push(button("", "Save the answer file", () => store.file(answers)));
    return make("p", { class: "moves" }, ...parts);
  }

  function draw(stay) {
    const focused = stay && root.contains(document.activeElement) ? place(document.activeElement) : "";
    const two = steps[at].part === "pairs" ? " two" : "";
    root.replaceChildren(top(), make("div", { class: `work${two}` },
      make("div", { class: "pictures" }, ...pictures()), make("div", { class: "asking" }, ...asking(), moves(true))));
    const back = focused && root.querySelector(focused);
    (back || root.querySelector("h2")).focus({ preventScroll: stay });
    root.dataset.step = `${steps[at].part}:${steps[at].code}`;
  }

  function place(node) {
    const field = node.closest("[data-name]");
    const within = field ? `[data-name="${field.dataset.name}"] ` : "";
    for (const name of ["part", "value", "reason"]) {
      if (node.dataset[name]) return `${within}[data-${name}="${node.dataset[name]}"]`;
    }
    return "";
  }

  function end() {
    const open = left();
    const told = open
      ? `Answered: ${answered()}. Please go back to what is open; leave open only what cannot be judged.`
      : "Everything is answered. Thank you.";
    const parts = [
      make("h2", { tabindex: "-1" }, "The end"),
      make("p", { role: "status", class: open ? "warn" : "done" }, told),
    ];
    if (store.file) {
      parts.push(make("p", {}, "Save the answer file and give it to the studio. It holds codes and answers only, no picture."),
        button("", "Save the answer file", () => store.file(answers), { class: "main" }));
    } else {
      parts.push(make("p", {}, store.told()));
    }
    const first = steps.findIndex((step) => !complete(step));
    if (open) parts.push(button("", "Go to the first open one", () => go(first)));
    parts.push(button("\u2190", "Back", () => go(steps.length - 1)), button("U", "Undo", undo, { disabled: !undoable.length }));
    root.replaceChildren(...parts);
    root.dataset.step = "end";
    root.querySelector("h2").focus();
  }

  function byKey(event) {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const node = event.target;
    if (node.closest && node.closest("input, select, textarea")) return;
    const pressed = event.key.length === 1 ? event.key.toLowerCase() : event.key;
    if (!act(pressed, node)) return;
    event.preventDefault();
    event.stopPropagation(); // in a notebook the same keys are commands
  }

  function act(pressed, node) {
    const ended = root.dataset.step === "end";
    if (pressed === "ArrowLeft") return go(ended ? steps.length - 1 : at - 1), true;
    if (pressed === "u") return undo(), true;
    if (ended) return false;
    if (pressed === "ArrowRight") return go(at + 1), true;
    const step = steps[at];
    if (step.part === "pairs" && "123".includes(pressed)) return single("pairs", PAIRS[pressed - 1][0]), true;
    if (step.part === "guesses" && "012".includes(pressed)) {
      return single("guesses", pressed === "0" ? "no_idea" : GUESSES[pressed - 1][0]), true;
    }
    return step.part === "photos" && photoKey(pressed, node);
  }

  function photoKey(pressed, node) {
    if (pressed === "x") return (refusing = !refusing), draw(true), true;
    if (refusing) return false;
    const one = round.questions[asked];
    if (pressed === "ArrowUp" || pressed === "ArrowDown") {
      const way = pressed === "ArrowUp" ? -1 : 1;
      delete root.dataset.draft;
      asked = Math.min(round.questions.length - 1, Math.max(0, asked + way));
      draw(false);
      root.querySelector(".question.now").scrollIntoView({ block: "nearest" });
      return true;
    }
    if (pressed === "Enter") {
      if (node.closest && node.closest("button")) return false;
      if (one.kind === "segments" && !(one.name in (given(steps[at]) || {}))) {
        if (drafted().length) confirmSegments(drafted()); // nothing marked is said with N, never by a slip
      } else if (complete(steps[at])) go(at + 1);
      return true;
    }
    if (one.kind === "segments") {
      if (pressed === "a") return confirmSegments(SEGMENTS), true;
      if (pressed === "n") return confirmSegments([]), true;
      if (/^[0-9]$/.test(pressed)) return toggle(pressed === "0" ? 10 : Number(pressed)), true;
      return false;
    }
    const values = one.options.map(([value]) => value);
    const value = one.kind === "grade" ? values.find((each) => each === pressed) : values[pressed - 1];
    return value === undefined ? false : (grade(asked, value), true);
  }

  const first = steps.findIndex((step) => !complete(step));
  root.addEventListener("keydown", byKey);
  if (first < 0) end();
  else go(first);
  return { keys: byKey, answers };
}

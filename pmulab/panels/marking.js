// Marking a photo: points are buttons over the picture, so that mouse, touch, Tab and arrow keys
// all reach them. Places are pixels of the photo; nothing is asked from outside.
const STEPS = [
  { name: "grey", title: "Grey patch", one: "corner", letter: "G", most: 4,
    help: "Four points well inside the grey patch, in order around it." },
  { name: "scale", title: "Scale", one: "mark", letter: "S", most: 2,
    help: "Two points, each in the middle of a mark of the scale, as far apart as you can." },
  { name: "line", title: "Planned line", one: "point", letter: "L", most: 200,
    help: "Points along the middle of the planned line, every 3 mm or so, from the inner to the outer end." },
];
const MOVES = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
const LOUPE = 168, LOUPE_TIMES = 4;

function make(kind, className, words, into) {
  const part = document.createElement(kind);
  if (className) part.className = className;
  if (words) part.textContent = words;
  if (into) into.appendChild(part);
  return part;
}

async function render({ model, el }) {
  await listen(model);
  let step = STEPS[0], active = -1, times = 0, url = "";
  const past = [];
  el.classList.add("pmulab-marking");
  const bar = make("div", "pmulab-marking-bar", "", el);
  bar.setAttribute("role", "radiogroup");
  bar.setAttribute("aria-label", "What to mark");
  const help = make("p", "pmulab-marking-help", "", el);
  const frame = make("div", "pmulab-marking-frame", "", el);
  const stage = make("div", "pmulab-marking-stage", "", frame);
  const image = make("img", "", "", stage);
  image.draggable = false;
  const lines = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  lines.setAttribute("aria-hidden", "true");
  stage.appendChild(lines);
  const dots = make("div", "pmulab-marking-dots", "", stage);
  const below = make("div", "pmulab-marking-below", "", el);
  const loupe = make("canvas", "pmulab-marking-loupe", "", below);
  loupe.width = loupe.height = LOUPE;
  loupe.setAttribute("role", "img");
  loupe.setAttribute("aria-label", "The active point, four times enlarged");
  const tools = make("div", "pmulab-marking-tools", "", below);
  const said = make("output", "pmulab-marking-said", "", below);
  said.setAttribute("role", "status");

  const points = (name = step.name) => model.get("marks")[name] || [];
  const clamp = (value, most) => Math.min(Math.max(Math.round(value * 10) / 10, 0), most);
  const place = ([x, y]) => [clamp(x, model.get("width")), clamp(y, model.get("height"))];
  const scale = () => image.clientWidth / model.get("width") || 1;

  function store(name, list, keep = true, settled = true) {
    if (keep) past.push(JSON.stringify(model.get("marks")));
    model.set("marks", { ...model.get("marks"), [name]: list });
    model.save_changes();
    if (settled) tellPoints();
  }
  // Saved changes wait while Python is at work, and a press of a button would come before them.
  function tellPoints() { model.send({ marks: model.get("marks") }); }
  function title(index, s = step) {
    const [x, y] = points(s.name)[index];
    const of = s.most < 100 ? ` of ${s.most}` : "";
    return `${s.title}, ${s.one} ${index + 1}${of}, x ${x.toFixed(1)}, y ${y.toFixed(1)}`;
  }
  function tell(words) { said.textContent = words; }

  function add(at) {
    const list = points();
    if (list.length >= step.most) {
      tell(`All ${step.most} are marked. Move them, or choose what to mark next.`);
      return;
    }
    const behind = active >= 0 && active < list.length ? active + 1 : list.length;
    const index = at ? list.length : behind;
    store(step.name, [...list.slice(0, index), place(at || between(list, index)), ...list.slice(index)]);
    active = index;
    draw();
    focus(index);
    tell(`Added: ${title(index)}.`);
  }
  function between(list, index) {
    const before = list[index - 1], after = list[index];
    if (before && after) return [(before[0] + after[0]) / 2, (before[1] + after[1]) / 2];
    if (before) return [before[0] + 40, before[1]];
    const view = stage.getBoundingClientRect(), box = frame.getBoundingClientRect();
    return [(box.left + frame.clientWidth / 2 - view.left) / scale(),
      (box.top + frame.clientHeight / 2 - view.top) / scale()];
  }
  function move(index, at, keep = true, settled = true) {
    const list = points().map((point) => [...point]);
    list[index] = place(at);
    store(step.name, list, keep, settled);
    active = index;
    draw();
  }
  function remove() {
    const list = points();
    if (active < 0 || active >= list.length) return;
    store(step.name, list.filter((_, index) => index !== active));
    active = Math.min(active, list.length - 2);
    draw();
    if (active >= 0) focus(active); else bar.querySelector("[aria-checked=true]").focus();
    tell("Removed.");
  }
  function undo() {
    if (!past.length) { tell("Nothing to undo."); return; }
    model.set("marks", JSON.parse(past.pop()));
    model.save_changes();
    tellPoints();
    active = Math.min(active, points().length - 1);
    draw();
    tell("Undone.");
  }
  function choose(next) {
    step = next;
    active = points().length - 1;
    draw();
    tell(`${step.title}: ${points().length} marked.`);
  }
  function focus(index) { dots.querySelector(`[data-index="${index}"]`)?.focus({ preventScroll: true }); }

  function keys(event) {
    const by = MOVES[event.key];
    const index = Number(event.target.dataset?.index ?? -1);
    if (by && index >= 0) {
      const far = event.shiftKey ? 10 : 1, [x, y] = points()[index];
      move(index, [x + far * by[0], y + far * by[1]]);
      focus(index);
      tell(title(index));
    } else if (event.key === "Delete" || event.key === "Backspace") remove();
    else if (event.key.toLowerCase() === "z" && (event.ctrlKey || event.metaKey)) undo();
    else if (event.key === "Enter" && index >= 0) add();
    else return;
    event.preventDefault();
    event.stopPropagation();
  }
  function drag(dot, index) {
    dot.addEventListener("pointerdown", (event) => {
      event.preventDefault();
      active = index;
      dot.focus({ preventScroll: true });
      const from = [event.clientX, event.clientY], start = [...points()[index]];
      let first = true;
      const follow = (next) => {
        const k = scale();
        move(index, [start[0] + (next.clientX - from[0]) / k, start[1] + (next.clientY - from[1]) / k], first, false);
        first = false;
      };
      const end = () => {
        window.removeEventListener("pointermove", follow);
        window.removeEventListener("pointerup", end);
        window.removeEventListener("pointercancel", end);
        tellPoints();
        focus(index);
        tell(title(index));
      };
      window.addEventListener("pointermove", follow);
      window.addEventListener("pointerup", end);
      window.addEventListener("pointercancel", end);
    });
    dot.addEventListener("focus", () => { active = index; magnify(); });
  }
  function drawDots() {
    const list = points(), k = scale();
    while (dots.children.length > list.length) dots.lastChild.remove();
    while (dots.children.length < list.length) {
      const index = dots.children.length;
      const dot = make("button", "pmulab-marking-dot", "", dots);
      dot.type = "button";
      dot.dataset.index = index;
      drag(dot, index);
    }
    list.forEach(([x, y], index) => {
      const dot = dots.children[index];
      dot.style.left = `${x * k}px`;
      dot.style.top = `${y * k}px`;
      dot.dataset.kind = step.name;
      dot.dataset.word = `${step.letter}${index + 1}`;
      dot.setAttribute("aria-label", title(index));
      dot.classList.toggle("pmulab-active", index === active);
    });
  }
  function shape(kind, list, className) {
    if (list.length < 2) return;
    const part = document.createElementNS("http://www.w3.org/2000/svg", kind);
    part.setAttribute("points", list.map((point) => point.join(",")).join(" "));
    part.setAttribute("class", className);
    lines.appendChild(part);
  }
  function drawLines() {
    lines.setAttribute("viewBox", `0 0 ${model.get("width")} ${model.get("height")}`);
    lines.replaceChildren();
    shape("polygon", points("grey"), "pmulab-grey");
    shape("polyline", points("scale"), "pmulab-scale");
    const outline = model.get("outline");
    if (outline.length) outline.forEach((each, index) => shape("polyline", each, index ? "pmulab-edge" : "pmulab-line"));
    else shape("polyline", points("line"), "pmulab-line");
  }
  function magnify() {
    const pen = loupe.getContext("2d"), half = LOUPE / 2 / LOUPE_TIMES, at = points()[active];
    pen.fillStyle = "#888888";
    pen.fillRect(0, 0, LOUPE, LOUPE);
    if (!at || !image.complete || !image.naturalWidth) return;
    pen.imageSmoothingEnabled = false;
    pen.drawImage(image, at[0] - half, at[1] - half, 2 * half, 2 * half, 0, 0, LOUPE, LOUPE);
    for (const [colour, wide] of [["#ffffff", 3], ["#000000", 1]]) {
      pen.strokeStyle = colour;
      pen.lineWidth = wide;
      pen.beginPath();
      pen.moveTo(LOUPE / 2, 0); pen.lineTo(LOUPE / 2, LOUPE / 2 - 6);
      pen.moveTo(LOUPE / 2, LOUPE / 2 + 6); pen.lineTo(LOUPE / 2, LOUPE);
      pen.moveTo(0, LOUPE / 2); pen.lineTo(LOUPE / 2 - 6, LOUPE / 2);
      pen.moveTo(LOUPE / 2 + 6, LOUPE / 2); pen.lineTo(LOUPE, LOUPE / 2);
      pen.stroke();
    }
  }
  function draw() {
    for (const part of bar.children) {
      const own = STEPS[Number(part.dataset.step)], count = points(own.name).length;
      part.setAttribute("aria-checked", String(own === step));
      part.tabIndex = own === step ? 0 : -1;
      part.textContent = `${own.title} (${own.most < 100 ? `${count} of ${own.most}` : count})`;
    }
    help.textContent = step.help;
    drawDots();
    drawLines();
    magnify();
  }
  function zoom(next) {
    times = next;
    stage.style.width = times ? `${(model.get("width") * times) / (window.devicePixelRatio || 1)}px` : "100%";
    draw();
    const at = points()[active];
    if (times && at) frame.scrollTo(at[0] * scale() - frame.clientWidth / 2, at[1] * scale() - frame.clientHeight / 2);
  }
  function load() {
    if (url) URL.revokeObjectURL(url);
    url = "";
    const bytes = model.get("photo");
    el.hidden = !bytes?.byteLength;
    if (el.hidden) return;
    url = URL.createObjectURL(new Blob([bytes], { type: "image/jpeg" }));
    image.alt = model.get("alt");
    image.src = url;
    past.length = 0;
    step = STEPS.find((one) => points(one.name).length < Math.min(one.most, 2)) || STEPS[0];
    active = points().length - 1;
    draw();
  }

  STEPS.forEach((own, index) => {
    const part = make("button", "", "", bar);
    part.type = "button";
    part.dataset.step = index;
    part.setAttribute("role", "radio");
    part.addEventListener("click", () => choose(own));
  });
  bar.addEventListener("keydown", (event) => {
    const by = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
    if (!by) return;
    const next = (STEPS.indexOf(step) + by + STEPS.length) % STEPS.length;
    choose(STEPS[next]);
    bar.children[next].focus();
    event.preventDefault();
    event.stopPropagation();
  });
  const buttons = [
    ["Add a point", () => add()], ["Remove the point", remove], ["Undo", undo],
    ["Whole photo", () => zoom(0)], ["Real size", () => zoom(1)], ["Twice", () => zoom(2)],
  ];
  for (const [words, act] of buttons) {
    const part = make("button", "jupyter-button", words, tools);
    part.type = "button";
    part.addEventListener("click", act);
  }
  stage.addEventListener("click", (event) => {
    if (event.target.closest(".pmulab-marking-dot")) return;
    const box = stage.getBoundingClientRect(), k = scale();
    add([(event.clientX - box.left) / k, (event.clientY - box.top) / k]);
  });
  el.addEventListener("keydown", keys);
  image.addEventListener("load", draw);
  const watch = new ResizeObserver(draw);
  watch.observe(stage);
  model.on("change:photo", load);
  model.on("change:marks", draw);
  model.on("change:outline", drawLines);
  load();
  return () => { watch.disconnect(); if (url) URL.revokeObjectURL(url); };
}
export default { render };

(() => {
  "use strict";
  const body = document.body, slides = [...document.querySelectorAll(".slide")];
  const nav = document.querySelector("nav"), at = document.getElementById("at");
  const words = document.getElementById("words");
  let now = 0;
  const show = (place, focus = true) => {
    now = Math.max(0, Math.min(slides.length - 1, place));
    slides.forEach((slide, number) => slide.classList.toggle("now", number === now));
    at.textContent = `${now + 1} / ${slides.length}`;
    window.scrollTo(0, 0);
    if (focus) slides[now].focus({ preventScroll: true });
  };
  const tell = () => {
    const on = body.classList.toggle("telling");
    words.setAttribute("aria-pressed", String(on));
  };
  const keys = {
    ArrowRight: () => show(now + 1), ArrowLeft: () => show(now - 1),
    ArrowDown: () => show(now + 1), ArrowUp: () => show(now - 1),
    PageDown: () => show(now + 1), PageUp: () => show(now - 1), " ": () => show(now + 1),
    Home: () => show(0), End: () => show(slides.length - 1), n: tell, N: tell,
  };
  document.addEventListener("keydown", (event) => {
    const pressed = event.key === " " && event.target.closest("button");
    if (event.ctrlKey || event.altKey || event.metaKey || pressed || !keys[event.key]) return;
    const scrolls = body.classList.contains("telling") && /^(Arrow(Up|Down)|Page|[ ])/.test(event.key);
    if (scrolls) return;
    event.preventDefault();
    keys[event.key]();
  });
  document.getElementById("back").addEventListener("click", () => show(now - 1, false));
  document.getElementById("on").addEventListener("click", () => show(now + 1, false));
  words.addEventListener("click", tell);
  nav.hidden = false;
  body.classList.add("turning");
  show(0, false);
})();

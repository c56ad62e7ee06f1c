"use strict";
(() => {
  // Every second the page loads the state beside it as a script, since a page from the disk may not fetch a file.  If
  // that names another version, it loads itself again; place, open parts and chosen passes stay.
  const PAUSE = 1000, ENDED = "This preview has ended: it no longer follows the text.";
  const root = document.documentElement, key = `flatwise-preview/${location.pathname}`;
  const all = (what) => [...document.querySelectorAll(what)];
  const name = (each) => `${each.closest("[id]")?.id}/${each.querySelector("summary")?.textContent}`;
  const folds = () => all("details"), passes = () => all(".control input");

  let kept = null;
  try { kept = JSON.parse(sessionStorage.getItem(key)); } catch { /* refused */ }
  if (kept) {
    for (const each of folds()) each.open = kept.open.includes(name(each));
    for (const each of passes()) each.value = kept.passes[name(each)] ?? 0;
    history.scrollRestoration = "manual";
    // once all scripts have run, since they change heights
    addEventListener("DOMContentLoaded", () => scrollTo(0, kept.top));
  }
  addEventListener("pagehide", () => {
    const open = folds().filter((each) => each.open).map(name);
    const chosen = Object.fromEntries(passes().map((each) => [name(each), each.value]));
    try { sessionStorage.setItem(key, JSON.stringify({ top: scrollY, open, passes: chosen })); } catch { /* refused */ }
  });

  const say = (said, errors, stale) => {
    root.classList.toggle("stale", stale);
    const words = document.getElementById("said"), list = document.getElementById("errors");
    if (words.textContent !== said) words.textContent = said;
    list.replaceChildren(...errors.map((error) => {
      const item = document.createElement("li");
      item.textContent = error;
      return item;
    }));
  };
  window.flatwisePreview = ({ version, said, errors }) => {
    if (version !== root.dataset.version) location.reload();
    else say(said, errors, errors.length > 0);
  };
  const ask = () => {
    const script = document.createElement("script");
    script.src = `${location.pathname.split("/").pop().replace(/html$/, "js")}?${Date.now()}`;
    script.onload = script.onerror = (event) => {
      script.remove();
      if (event.type === "error") say(ENDED, [], true);
      setTimeout(ask, PAUSE);
    };
    document.head.append(script);
  };
  ask();
})();

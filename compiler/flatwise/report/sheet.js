"use strict";
(() => {
  const all = (what, within = document) => [...within.querySelectorAll(what)];
  document.documentElement.classList.add("live");

  // Ticks, kept by job, face and sources.  If the browser refuses to store them, they last as long as the page.
  let store = null;
  try { store = window.localStorage; store.getItem("flatwise"); } catch { store = null; }
  const read = (key) => { try { return JSON.parse(store.getItem(key)) || {}; } catch { return {}; } };
  const boxes = all("input[type=checkbox]");
  const count = document.getElementById("ticked");
  const showCount = () => { count.textContent = `${boxes.filter((box) => box.checked).length} of ${boxes.length} ticked`; };
  for (const part of all("[data-key]")) {
    const mine = all("input[type=checkbox]", part);
    const kept = store ? read(part.dataset.key) : {};
    for (const box of mine) {
      box.checked = Array.isArray(kept.ticked) && kept.ticked.includes(box.id);
      box.addEventListener("change", () => {
        const ticked = mine.filter((each) => each.checked).map((each) => each.id);
        try { store?.setItem(part.dataset.key, JSON.stringify({ ticked })); } catch { /* full, or refused */ }
        showCount();
      });
    }
  }
  showCount();
  // ticks of an earlier panel must not be taken for this one's
  if (boxes.some((box) => box.checked)) count.textContent += ", kept from an earlier visit: clear them for another panel";
  document.getElementById("clear").addEventListener("click", () => {
    for (const box of boxes) box.checked = false;
    for (const part of all("[data-key]")) { try { store?.removeItem(part.dataset.key); } catch { /* refused */ } }
    showCount();
  });

  // One pass at a time, in the plan, the stack and the table.
  for (const face of all(".face")) {
    const range = face.querySelector(".control input");
    if (!range) continue;
    const [less, more] = all(".control button", face);
    const say = face.querySelector(".say");
    const words = new Map(all(".plan .pass", face).map((one) => [one.dataset.pass, one.firstElementChild.textContent]));
    const show = () => {
      const chosen = range.value;
      face.classList.toggle("stepping", chosen !== "0");
      for (const one of all("[data-pass]", face)) one.classList.toggle("now", one.dataset.pass === chosen);
      say.textContent = words.get(chosen) || `The set-up. ▶ shows the ${range.max === "1" ? "pass" : `${range.max} passes one by one`}.`;
      range.setAttribute("aria-valuetext", say.textContent);
      less.disabled = chosen === "0";
      more.disabled = chosen === range.max;
    };
    const go = (by) => { range.value = Number(range.value) + by; show(); };
    range.addEventListener("input", show);
    less.addEventListener("click", () => go(-1));
    more.addEventListener("click", () => go(1));
    show();
  }

  // The words of a shape in a picture: under the pointer, at a tap, or one after another with the button.
  const height = (map, x, y) => {
    const { nx, ny, length, width, unit, worth } = map.dataset;
    const z = map.heights ||= map.dataset.heights.split(" ").map(Number);
    const u = Math.min(Math.max(x / length, 0), 1) * (nx - 1), v = Math.min(Math.max(y / width, 0), 1) * (ny - 1);
    const i = Math.min(Math.floor(u), nx - 2), j = Math.min(Math.floor(v), ny - 2), s = u - i, t = v - j;
    const at = (a, b) => z[b * nx + a];
    const found = (at(i, j) * (1 - s) + at(i + 1, j) * s) * (1 - t) + (at(i, j + 1) * (1 - s) + at(i + 1, j + 1) * s) * t;
    const said = (value, places) => `${(value / worth).toFixed(places)} ${unit}`;
    const place = unit === "in" ? 2 : 0;
    return `${said(x, place)} from the left end, ${said(y, place)} from the front edge: ${found.toFixed(unit === "in" ? 4 : 2)} ${unit} above the bed.`;
  };
  for (const figure of all("figure")) {
    const svg = figure.querySelector("svg"), out = figure.querySelector("output"), next = figure.querySelector(".next");
    if (!out) continue;
    const tell = (shape) => {
      for (const each of all(".tip.on", svg)) each.classList.remove("on");
      if (shape) { shape.classList.add("on"); out.textContent = shape.firstElementChild.textContent; }
    };
    const point = (event) => {
      if (svg.dataset.heights) {
        const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
        const y = svg.dataset.top - at.y;
        if (at.x >= 0 && at.x <= +svg.dataset.length && y >= 0 && y <= +svg.dataset.width) out.textContent = height(svg, at.x, y);
      } else {
        const shape = event.target.closest?.(".tip");
        if (shape) tell(shape);
      }
    };
    svg.addEventListener("pointermove", point);
    svg.addEventListener("click", point);
    let turn = -1;
    next?.addEventListener("click", () => {
      if (svg.dataset.heights) {
        turn = (turn + 1) % 9;
        out.textContent = height(svg, svg.dataset.length * (turn % 3) / 2, svg.dataset.width * Math.floor(turn / 3) / 2);
      } else {
        const shapes = all(".tip", svg).filter((each) => each.getClientRects().length);
        tell(shapes[turn = (turn + 1) % shapes.length]);
      }
    });
  }
})();

// The drawing with its areas as shapes over it: chosen by tap, by a loop, by the keys; painted on the spot.

import { s } from "./dom.js";

/** Of the screen, that a pointer moves before it draws. */
const DRAWS = 6;
/** Of a number on the screen: the first that has room is taken. */
const NUMBER_PX = [13, 10];

/**
 * @typedef {{
 *   label: (id: number) => string,
 *   tapped: (id: number | null, more: boolean) => void,
 *   looped: (ids: number[], more: boolean) => void,
 *   split: (points: [number, number][]) => void,
 *   bordered: (key: string) => void,
 *   keyed: (event: KeyboardEvent, id: number) => boolean,
 *   noted: (id: number | null) => void,
 * }} Hands
 */

export class Figure {
  /** @param {HTMLElement} home @param {Hands} hands */
  constructor(home, hands) {
    this.hands = hands;
    this.shapes = new Map();
    this.numbers = new Map();
    this.bands = new Map();
    this.of = null;
    this.mode = "areas";
    this.at = 0;
    this.picture = s("image", { class: "picture", width: 0, height: 0, "aria-hidden": "true" });
    this.list = s("g", { role: "listbox", "aria-multiselectable": "true", "aria-label": "Areas of the drawing" });
    this.lines = s("g", { class: "bands", "aria-hidden": "true" });
    this.figures = s("g", { class: "numbers", "aria-hidden": "true" });
    this.rings = s("g", { class: "rings", "aria-hidden": "true" });
    this.stroke = s("polyline", { class: "stroke", "aria-hidden": "true" });
    this.svg = s("svg", { class: "figure" }, this.picture, this.list, this.rings, this.lines, this.figures, this.stroke);
    home.append(this.svg);
    this.listen();
    new ResizeObserver(() => this.fit()).observe(this.svg);
  }

  /** Show a picture that is not read yet, or no longer. @param {string} url */
  unread(url) {
    if (this.of !== null) this.clear();
    if (!this.seen(url)) return;
    const image = new Image();
    // By then the reading may be there, whose size is the true one.
    image.onload = () => this.of === null && this.frame([image.naturalWidth, image.naturalHeight]);
    image.src = url;
  }

  /** @param {any} reading @param {string} url */
  show(reading, url) {
    this.seen(url);
    // The same result is shown again and again: its shapes stay, and with them the focus.
    if (this.of === reading) return;
    this.clear();
    this.of = reading;
    this.frame(reading.size);
    for (const area of reading.areas) this.add(area);
    for (const edge of reading.edges) {
      const key = edge.areas.join("-");
      const band = s("path", { d: edge.path, class: "band", "fill-rule": "evenodd" });
      band.addEventListener("click", () => this.hands.bordered(key));
      this.bands.set(key, band);
      this.lines.append(band);
    }
    this.fit();
  }

  /** Put a picture under the areas; false where it lies there. @param {string} url */
  seen(url) {
    if (this.picture.getAttribute("href") === url) return false;
    // An empty href would still be an address, that of the page itself.
    if (url) this.picture.setAttribute("href", url);
    else this.picture.removeAttribute("href");
    return true;
  }

  clear() {
    this.of = null;
    this.rings.replaceChildren();
    this.shapes.clear();
    this.numbers.clear();
    this.bands.clear();
    for (const group of [this.list, this.lines, this.figures]) group.replaceChildren();
  }

  /** @param {[number, number]} size */
  frame([width, height]) {
    this.svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
    this.svg.style.setProperty("--ratio", String(width / height));
    this.picture.setAttribute("width", String(width));
    this.picture.setAttribute("height", String(height));
  }

  add(area) {
    const shape = s("path", {
      d: area.path,
      class: "area",
      role: "option",
      tabindex: -1,
      "data-area": area.id,
      "fill-rule": "evenodd",
      "aria-selected": "false",
    });
    shape.addEventListener("focus", () => {
      this.hands.noted(area.id);
      this.ring();
    });
    shape.addEventListener("blur", () => this.ring());
    shape.addEventListener("pointerenter", () => this.hands.noted(area.id));
    shape.addEventListener("pointerleave", () => this.hands.noted(null));
    shape.addEventListener("keydown", (event) => this.key(/** @type {KeyboardEvent} */ (event), area.id));
    this.shapes.set(area.id, shape);
    this.list.append(shape);
    const number = s("text", { x: area.label_xy[0], y: area.label_xy[1] }, String(area.id));
    this.numbers.set(area.id, number);
    this.figures.append(number);
  }

  /** The numbers keep their size on the screen; where one has no room it shows when its area is chosen. */
  fit() {
    if (!this.of) return;
    const box = this.svg.getBoundingClientRect();
    // The drawing keeps its shape in the frame, so the narrower side decides.
    const perPixel = Math.max(this.of.size[0] / Math.max(1, box.width), this.of.size[1] / Math.max(1, box.height));
    this.svg.style.setProperty("--px", String(perPixel));
    for (const area of this.of.areas) {
      const number = this.numbers.get(area.id);
      const room = Math.min(area.wide_px, area.bbox[2] - area.bbox[0]) / perPixel;
      // A digit is half as wide as it is high; a little room goes round them all.
      const fits = NUMBER_PX.find((px) => room >= px * (0.35 + 0.5 * String(area.id).length));
      number.setAttribute("font-size", String((fits ?? NUMBER_PX[0]) * perPixel));
      number.classList.toggle("cramped", !fits);
    }
  }

  /**
   * How it looks now. fills: area -> colour, null: as drawn; marked: to be pointed out; chosen; numbers.
   * @param {{fills: Map<number, string> | null, marked: Set<number>, chosen: Set<number>, border: string | null, numbers: boolean, mode: string}} look
   */
  paint({ fills, marked, chosen, border, numbers, mode }) {
    this.mode = mode;
    this.svg.dataset.mode = mode;
    this.svg.classList.toggle("painted", fills !== null);
    this.figures.classList.toggle("hidden", !numbers);
    const first = this.of?.areas[0]?.id;
    // Tab reaches one area, arrows the others (ARIA Authoring Practices, listbox).
    const stop = [...chosen].at(-1) ?? (this.shapes.has(this.at) ? this.at : first);
    for (const [id, shape] of this.shapes) {
      const on = chosen.has(id);
      if (fills) shape.setAttribute("fill", fills.get(id) ?? "none");
      else shape.removeAttribute("fill");
      shape.classList.toggle("chosen", on);
      shape.classList.toggle("marked", marked.has(id));
      shape.setAttribute("aria-selected", String(on));
      shape.setAttribute("aria-label", this.hands.label(id));
      shape.setAttribute("tabindex", id === stop ? "0" : "-1");
      this.numbers.get(id).classList.toggle("chosen", on || marked.has(id));
    }
    for (const [key, band] of this.bands) band.classList.toggle("chosen", key === border);
    this.ring();
  }

  /** Outlines above all areas, each on a light one, so that they are seen on any colour. */
  ring() {
    const said = [...this.shapes.values()].filter((shape) => shape.matches(".marked, .chosen, :focus-visible"));
    this.rings.replaceChildren(
      ...said.flatMap((shape) => {
        const how = ["chosen", "marked"].find((one) => shape.classList.contains(one)) ?? "";
        const [d, focus] = [shape.getAttribute("d"), shape.matches(":focus-visible") ? "focus" : ""];
        return [s("path", { d, class: `under ${focus}` }), s("path", { d, class: `ring ${how} ${focus}` })];
      }),
    );
  }

  /** @param {number} id */
  focus(id) {
    this.at = id;
    this.shapes.get(id)?.focus({ preventScroll: true });
  }

  key(event, id) {
    const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    const ids = this.of.areas.map((a) => a.id);
    const to = way ? this.neighbour(id, way) : event.key === "Home" ? ids[0] : event.key === "End" ? ids.at(-1) : null;
    if (to !== null && to !== undefined) {
      event.preventDefault();
      this.focus(to);
      this.hands.tapped(to, event.shiftKey);
    } else if (this.hands.keyed(event, id)) {
      event.preventDefault();
    }
  }

  /** The nearest area that way: what lies aside counts twice. */
  neighbour(id, [dx, dy]) {
    const by = new Map(this.of.areas.map((a) => [a.id, a.label_xy]));
    const [x, y] = by.get(id);
    let best = null;
    let least = Infinity;
    for (const [other, [ox, oy]] of by) {
      const along = (ox - x) * dx + (oy - y) * dy;
      const aside = Math.abs((ox - x) * dy) + Math.abs((oy - y) * dx);
      if (other !== id && along > 0 && along + 2 * aside < least) [best, least] = [other, along + 2 * aside];
    }
    return best;
  }

  listen() {
    let start = null;
    let points = [];
    const end = (event) => {
      if (!start) return;
      const drawn = points.length > 2 ? points : null;
      start = null;
      this.stroke.setAttribute("points", "");
      if (this.svg.hasPointerCapture(event.pointerId)) this.svg.releasePointerCapture(event.pointerId);
      if (drawn && this.mode === "split") this.hands.split(thinned(drawn));
      else if (drawn) this.hands.looped(this.within(drawn), event.shiftKey);
    };
    this.svg.addEventListener("pointerdown", (event) => {
      points = []; // a finger's stroke is followed by no click that would forget it
      if (event.button !== 0 || !this.of || this.mode === "look" || this.mode === "borders") return;
      // A finger moves the page: it draws a loop only where that was chosen.
      if (event.pointerType === "touch" && this.mode === "areas") return;
      start = [event.clientX, event.clientY];
      points = [this.place(event)];
    });
    this.svg.addEventListener("pointermove", (event) => {
      if (!start) return;
      if (points.length === 1 && Math.hypot(event.clientX - start[0], event.clientY - start[1]) < DRAWS) return;
      // Captured only once it draws: a captured tap would be a click on the drawing, not on the area.
      if (points.length === 1) this.svg.setPointerCapture(event.pointerId);
      points.push(this.place(event));
      this.stroke.setAttribute("points", points.map((p) => p.join(",")).join(" "));
    });
    this.svg.addEventListener("pointerup", end);
    this.svg.addEventListener("pointercancel", () => ((start = null), this.stroke.setAttribute("points", "")));
    this.svg.addEventListener("click", (event) => {
      // A stroke of the mouse ends with a click too.
      if (!this.of || points.length > 2 || this.mode === "borders" || this.mode === "split") {
        points = [];
        return;
      }
      const id = Number(/** @type {HTMLElement} */ (event.target).dataset?.area ?? 0) || null;
      if (id) this.focus(id);
      this.hands.tapped(id, event.shiftKey || event.ctrlKey || event.metaKey || this.mode === "loop");
    });
  }

  /** Where a pointer is, in pixels of the drawing. @returns {[number, number]} */
  place(event) {
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(
      /** @type {SVGSVGElement} */ (this.svg).getScreenCTM()?.inverse(),
    );
    return [at.x, at.y];
  }

  /** Areas whose middle lies in a loop (even-odd rule). */
  within(loop) {
    return this.of.areas.filter((a) => inside(a.label_xy, loop)).map((a) => a.id);
  }

  /** The area under a place of the drawing. @param {[number, number]} place */
  under(place) {
    const at = /** @type {SVGSVGElement} */ (this.svg).createSVGPoint();
    [at.x, at.y] = place;
    for (const [id, shape] of this.shapes) if (/** @type {any} */ (shape).isPointInFill(at)) return id;
    return null;
  }
}

function inside([x, y], loop) {
  let odd = false;
  for (let i = 0, j = loop.length - 1; i < loop.length; j = i++) {
    const [[ax, ay], [bx, by]] = [loop[i], loop[j]];
    if (ay > y !== by > y && x < ((bx - ax) * (y - ay)) / (by - ay) + ax) odd = !odd;
  }
  return odd;
}

/** At most 24 points of a stroke. */
function thinned(points) {
  const every = Math.max(1, Math.ceil(points.length / 23));
  const kept = points.filter((_, i) => i % every === 0);
  if (kept.at(-1) !== points.at(-1)) kept.push(points.at(-1));
  return kept;
}

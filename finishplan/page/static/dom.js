// Making and replacing elements. The page has no framework: a view is a function that returns its elements.

const SVG = "http://www.w3.org/2000/svg";

/** @typedef {Node | string | number | null | undefined | false} Child */

/**
 * An element. Properties: `on...` are listeners, true and false set or leave out an attribute.
 * @param {string} tag
 * @param {Record<string, any>} [props]
 * @param {...(Child | Child[])} children
 * @returns {HTMLElement}
 */
export function h(tag, props = {}, ...children) {
  return /** @type {HTMLElement} */ (filled(document.createElement(tag), props, children));
}

/**
 * An SVG element, as `h`.
 * @param {string} tag
 * @param {Record<string, any>} [props]
 * @param {...(Child | Child[])} children
 * @returns {SVGElement}
 */
export function s(tag, props = {}, ...children) {
  return /** @type {SVGElement} */ (filled(document.createElementNS(SVG, tag), props, children));
}

function filled(element, props, children) {
  for (const [name, value] of Object.entries(props)) {
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    // The attribute is only what a field begins with.
    else if (name === "value") element.value = value;
    else if (value === true) element.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) element.setAttribute(name, String(value));
  }
  element.append(...shown(children));
  return element;
}

/** What is there of children in lists and lists of lists: a view may leave out a child by a condition. */
const shown = (children) => children.flat(Infinity).filter((c) => c !== null && c !== undefined && c !== false);

/**
 * Put other elements into a container. What was focused, being typed or unfolded stays so, by its `data-key`.
 * @param {HTMLElement} container
 * @param {...(Child | Child[])} children
 */
export function replace(container, ...children) {
  const held = /** @type {any} */ (container.contains(document.activeElement) ? document.activeElement : null);
  const key = held?.dataset?.key;
  // Half-written words would else be lost whenever a result comes in.
  const typed = held && "defaultValue" in held && held.dataset.typed ? held.value : null;
  const open = new Set([...container.querySelectorAll("details[open][data-key]")].map((d) => d.dataset.key));
  container.replaceChildren(...shown(children));
  for (const details of container.querySelectorAll("details[data-key]")) {
    if (open.has(details.dataset.key)) details.open = true;
  }
  if (!key) return;
  const now = /** @type {any} */ (container.querySelector(`[data-key="${CSS.escape(key)}"]`));
  if (!now) return;
  if (typed !== null) {
    now.value = typed;
    now.dataset.typed = "1";
  }
  // The keyboard stays where it was, and the page does not jump to it.
  now.focus({ preventScroll: true });
}

/**
 * A text or number field that is set when its maker is done: Enter, or leaving it.
 * @param {{key: string, label: string, value: string, type?: string, done: (value: string) => void, [more: string]: any}} how
 */
export function field({ key, label, value, done, ...more }) {
  const id = `f-${key.replace(/\W/g, "-")}`;
  const input = /** @type {HTMLInputElement} */ (h("input", { id, "data-key": key, type: "text", value, ...more }));
  const finish = () => {
    if (!input.dataset.typed) return;
    delete input.dataset.typed;
    // Written and taken back again is no edit.
    if (input.value !== value) done(input.value);
  };
  input.addEventListener("input", () => (input.dataset.typed = "1"));
  input.addEventListener("change", finish);
  input.addEventListener("keydown", (event) => {
    if (event.key === "Enter") finish();
    if (event.key === "Escape") {
      input.value = value;
      delete input.dataset.typed;
    }
  });
  return h("div", { class: "field" }, h("label", { for: id }, label), input);
}

/**
 * A choice of a few words.
 * @param {{key: string, label: string, value: string, options: [string, string][], done: (value: string) => void}} how
 */
export function choice({ key, label, value, options, done }) {
  const id = `f-${key.replace(/\W/g, "-")}`;
  const select = h(
    "select",
    { id, "data-key": key, onchange: (event) => done(event.target.value) },
    options.map(([v, said]) => h("option", { value: v, selected: v === value }, said)),
  );
  return h("div", { class: "field" }, h("label", { for: id }, label), select);
}

/**
 * A box to tick.
 * @param {{key: string, label: Child | Child[], on: boolean, done: (on: boolean) => void, disabled?: boolean}} how
 */
export function tick({ key, label, on, done, disabled = false }) {
  const box = h("input", { type: "checkbox", "data-key": key, disabled, onchange: (e) => done(e.target.checked) });
  /** @type {any} */ (box).checked = on;
  return h("label", { class: "tick" }, box, h("span", {}, label));
}

/**
 * A button.
 * @param {Child | Child[]} label
 * @param {() => void} done
 * @param {Record<string, any>} [props]
 */
export function button(label, done, props = {}) {
  return h("button", { type: "button", onclick: done, ...props }, label);
}

/**
 * A colour with what it is called: never a colour alone.
 * @param {string} hex
 * @param {Child | Child[]} said
 */
export function swatch(hex, said) {
  const patch = h("span", { class: "patch", "aria-hidden": "true" });
  patch.style.backgroundColor = hex;
  return h("span", { class: "swatch" }, patch, h("span", {}, said));
}

/** A number as written, with a comma or a point; what is none goes to the bench as it is, which says so. */
export function number(text) {
  const said = text.trim().replace(",", ".");
  if (!said) return null;
  return Number.isFinite(Number(said)) ? Number(said) : text;
}

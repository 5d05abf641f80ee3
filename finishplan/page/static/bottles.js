// What is left of the paints, and bottles of the maker's own.

import { button, choice, field, h, number } from "./dom.js";
import { card, fold } from "./panels.js";
import { sendBox } from "./server.js";
import { changed, store } from "./store.js";
import { counted } from "./words.js";

const OPACITIES = ["opaque", "semi-opaque", "semi-transparent", "transparent"];
const EMPTY = { name: "", ci: "", colour: "", tint: "", opacity: "semi-opaque", ml_left: "", near: "" };

/** '2 x 60' is 120 ml. @param {string} said */
export function millilitres(said) {
  const parts = said.replace(/ml\s*$/i, "").split(/[x×*]/i).map((part) => number(part));
  return parts.every((p) => typeof p === "number") ? Number(parts.reduce((a, b) => Number(a) * Number(b), 1)) : parts.length > 1 ? said : parts[0];
}

const stock = (paint) =>
  field({
    key: `left-${paint.paint}`,
    label: `${paint.name}, ml left`,
    value: String(paint.ml_left ?? ""),
    inputmode: "text",
    placeholder: "not known",
    done: (v) => sendBox({ stock: { [paint.paint]: millilitres(v) } }),
  });

/** What is left of all that is owned. */
export function left() {
  const owned = store.paints.paints.filter((p) => p.owned);
  const known = owned.filter((p) => p.ml_left !== null).length;
  return fold(
    "left",
    known ? `What is left: known for ${counted(known, "paint")}` : "What is left",
    h("p", { class: "quiet" }, "In millilitres, or tubes times what each holds: 2 x 60. A plan then says where it will not do."),
    h("div", { class: "stock" }, owned.map(stock)),
  );
}

/** The maker's own bottles, and one more. */
export function bottles() {
  const there = store.paints.bottles;
  return fold(
    "bottles",
    there.length ? `Your own bottles: ${there.length}` : "Your own bottles",
    there.map((p) =>
      h("div", { class: "offer" }, card(p), stock(p), button("Take it off the shelf", () => sendBox({ remove: p.paint }), { "data-key": `drop-${p.paint}`, "aria-label": `Take it off the shelf: ${p.name}` })),
    ),
    h("h4", {}, "One more bottle"),
    form(),
  );
}

function form() {
  const bottle = (store.bottle ??= { ...EMPTY });
  const set = (key) => (v) => {
    bottle[key] = v;
    changed();
  };
  const text = (key, label, more = {}) => {
    const made = field({ key: `bottle-${key}`, label, value: bottle[key], done: set(key), ...more });
    // Kept with every key: the page may be drawn anew while the form is half filled in.
    made.querySelector("input")?.addEventListener("input", (event) => (bottle[key] = /** @type {any} */ (event.target).value));
    return made;
  };
  const near = [["", "none: I give its colour"], ...store.paints.paints.map((p) => [p.paint, `${p.name} ${p.ci}`])];
  return h(
    "div",
    { class: "offer" },
    text("name", "What it says on the bottle", { maxlength: 80 }),
    choice({ key: "bottle-near", label: "Looks like this paint of the table", value: bottle.near, options: near, done: like }),
    text("ci", "Pigments, by Colour Index name", { placeholder: "PR101 PY42, if the label tells" }),
    h(
      "div",
      { class: "row" },
      text("colour", "Its colour, painted thick", { placeholder: "#a0452e", spellcheck: "false" }),
      h("input", { type: "color", "aria-label": "Choose its colour", "data-key": "bottle-picker", value: /^#[0-9a-f]{6}$/i.test(bottle.colour) ? bottle.colour : "#808080", onchange: (e) => set("colour")(e.target.value) }),
    ),
    text("tint", "One part in nine of white, if you made one", { placeholder: "#e7b8a8", spellcheck: "false" }),
    choice({ key: "bottle-opacity", label: "How it hides", value: bottle.opacity, options: OPACITIES.map((o) => [o, o]), done: set("opacity") }),
    text("ml_left", "What is left, ml", { placeholder: "not known" }),
    button("Put it on the shelf", add, { "data-key": "bottle-add", class: "main" }),
    h("p", { class: "quiet" }, "Recipes with it are marked as estimates: nobody has measured it. A swatch card measures it."),
  );
}

/** Colour, tint and hiding of a paint of the table for the bottle. @param {string} id */
function like(id) {
  const paint = store.paints.paints.find((p) => p.paint === id);
  const bottle = /** @type {any} */ (store.bottle);
  bottle.near = id;
  // Pigments that were written stay: the label knows better than a paint that looks alike.
  if (paint) Object.assign(bottle, { colour: paint.hex, tint: paint.tint_hex ?? "", opacity: paint.opacity, ci: bottle.ci || paint.ci });
  changed();
}

async function add() {
  const { near, ml_left, ...bottle } = /** @type {any} */ (store.bottle);
  if (await sendBox({ add: { ...bottle, ml_left: millilitres(ml_left) } })) {
    store.bottle = null;
    changed();
  }
}

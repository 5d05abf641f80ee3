// The drawing: what is chosen on it, and what can be said of that.

import { button, choice, field, h, swatch, tick } from "./dom.js";
import { accept, aim, assign, border, each, flag, onPart, own, share, split, takeBack } from "./edits.js";
import { answer, block, chip, choose, fold, mixSwatch, notes, recipe } from "./panels.js";
import { edit, post, send, tell } from "./server.js";
import { area, areas, areasOf, called, changed, data, hintCount, mixOf, passesOf, store } from "./store.js";
import { FLAGS, TREATS, cm2, counted, listed, mm } from "./words.js";

const KINDS = { dots: "Specks to set on top", recesses: "Hollows to paint first", shades: "Soft shades", gaps: "Perhaps gaps, as white as the paper" };
const HINTS = { dot: "A speck, set on top", recess: "A hollow, painted first", blend: "A soft shade of its neighbour", paper: "Not painted" };

export function beside() {
  if (store.border) return ofBorder(store.border);
  const ids = [...store.chosen].filter((id) => area(id));
  if (ids.length === 1) return ofOne(area(ids[0]));
  if (ids.length > 1) return ofSeveral(ids);
  return ofFigure();
}

/** What a tap or a drag does. */
export function hands() {
  const modes = { areas: ["Choose ", "areas"], loop: ["Draw a ", "loop"], borders: ["Choose ", "borders"], split: ["Split by a ", "stroke"] };
  return h(
    "div",
    { class: "hands" },
    h(
      "div",
      { role: "radiogroup", "aria-label": "What the pointer does on the drawing", class: "row" },
      Object.entries(modes).map(([mode, [verb, what]]) =>
        h(
          "label",
          { class: "way" },
          h("input", {
            type: "radio",
            name: "mode",
            value: mode,
            checked: store.mode === mode,
            "data-key": `mode-${mode}`,
            onchange: () => {
              store.mode = mode;
              changed();
            },
          }),
          h("span", {}, h("span", { class: "verb" }, verb), h("span", { class: "what" }, what)),
        ),
      ),
    ),
    h(
      "div",
      { class: "row", role: "group", "aria-label": "Size of the drawing" },
      button("Smaller", () => zoom(1 / 1.5), { disabled: store.zoom <= 1 }),
      button("Larger", () => zoom(1.5), { disabled: store.zoom >= 8 }),
    ),
  );
}

/** Back to the empty bench; the figure's folder stays. @param {string} said */
const away = (said) => h("p", {}, button(said, () => post("/api/close").catch(tell), { "data-key": "close" }));

function zoom(by) {
  store.zoom = Math.min(8, Math.max(1, store.zoom * by));
  changed();
}

function ofFigure() {
  const reading = data("reading");
  if (!reading) return [h("h2", {}, "Reading the drawing"), answer("reading"), away("Stop")];
  const figure = store.job.figure ?? {};
  return [
    h("h2", {}, `${counted(reading.areas.length, "area")} on ${counted(reading.parts.length, "part")}`),
    h("p", { class: "quiet" }, "Tap an area to name it or to say what it is. Shift or a loop takes several."),
    answer("reading", offered(reading)),
    block(
      "The figure",
      field({ key: "figure-name", label: "Name", value: figure.name ?? "", done: (v) => edit({ "figure.name": v || null }) }),
      field({
        key: "figure-height",
        label: "Height in mm",
        value: String(figure.height_mm ?? ""),
        placeholder: "80 if left empty",
        inputmode: "decimal",
        done: (v) => edit({ "figure.height_mm": number(v) }),
      }),
      choice({
        key: "figure-finish",
        label: "Varnish",
        value: figure.finish,
        options: ["matt", "satin", "gloss"].map((v) => [v, v]),
        done: (v) => edit({ "figure.finish": v }),
      }),
    ),
    leftOut(reading),
    fold("areas", "All areas", h("div", { class: "chips" }, areas().map((a) => chip(a.id)))),
    reading.notes.length > 0 && fold("reading-notes", `${counted(reading.notes.length, "note")} on the drawing`, notes(reading.notes)),
    redraw(),
    h("p", { class: "quiet path" }, `All lies in ${store.folder}`),
    away("Another figure"),
  ];
}

/** A number as written, with a comma or a point; what is none goes to the bench as it is, which says so. */
export function number(text) {
  const said = text.trim().replace(",", ".");
  if (!said) return null;
  return Number.isFinite(Number(said)) ? Number(said) : text;
}

function offered(reading) {
  const kinds = Object.entries(reading.offers);
  if (!kinds.length) return null;
  return block(
    `The drawing suggests (${counted(hintCount(), "hint")})`,
    kinds.map(([word, ids]) =>
      h(
        "div",
        { class: "offer" },
        h("p", {}, `${KINDS[word]}: ${listed(ids.map((id) => called(area(id))))}`),
        h(
          "div",
          { class: "row" },
          button(ids.length > 1 ? `Take all ${ids.length}` : "Take it", () => accept(word), { "data-key": `take-${word}` }),
          button("Show them", () => choose(ids), { "data-key": `show-${word}` }),
        ),
      ),
    ),
  );
}

function leftOut(reading) {
  return (
    reading.gone.length > 0 &&
    fold(
      "gone",
      `${reading.gone.length} left out`,
      reading.gone.map((g) =>
        h(
          "div",
          { class: "row" },
          swatch(g.hex, `${g.id} ${g.name}: ${g.how}${g.into ? ` with ${g.into}` : ""}`),
          button("Take back", () => takeBack(g), { "data-key": `back-${g.id}`, "aria-label": `Take area ${g.id} back` }),
        ),
      ),
    )
  );
}

function redraw() {
  const id = "redraw";
  return h(
    "div",
    { class: "field" },
    h("label", { for: id }, "A changed drawing of this figure"),
    h("input", {
      id,
      type: "file",
      accept: "image/*,.ora",
      "data-key": id,
      onchange: (event) => event.target.files[0] && send(event.target.files[0], true).catch(tell),
    }),
  );
}

function ofOne(one) {
  const ids = [one.id];
  return [
    h("h2", {}, `Area ${called(one)}`),
    field({
      key: "name",
      label: "Name",
      value: one.name ?? "",
      maxlength: 80,
      autocomplete: "off",
      done: (v) => v.trim() && edit({ [`${one.id}.name`]: v.trim() }),
    }),
    hintsOf(one),
    answer("painting", colourOf(one)),
    block(
      "Size",
      h(
        "p",
        {},
        one.cm2 === null ? "" : `${cm2(one.cm2)} to paint, ${mm(one.narrow_mm)} at its narrowest, ${mm(one.wide_mm)} at its widest.`,
      ),
    ),
    flagsOf(ids),
    partOf(ids),
    mendOf(ids),
    bordersOf(one),
    letGo(),
  ];
}

function hintsOf(one) {
  const open = one.hints.filter((hint) => !one.flags.includes(hint.flag));
  if (!open.length) return null;
  return block(
    "The drawing suggests",
    open.map((hint) =>
      h(
        "div",
        { class: "offer" },
        h("p", {}, `${HINTS[hint.flag]}: ${hint.why}.`),
        button("Take it", () => (hint.flag === "paper" ? each([one.id], "paper", true) : flag([one.id], hint.flag, true, hint.other)), { "data-key": `hint-${hint.flag}` }),
      ),
    ),
  );
}

function colourOf(one) {
  const mix = mixOf(one.id);
  const others = mix ? areasOf(mix.id).filter((id) => id !== one.id) : [];
  return block(
    "Colour",
    h("p", {}, swatch(one.hex, `as drawn ${one.hex}`)),
    aimField([one.id], one.target),
    mix && h("p", {}, mixSwatch(mix), h("span", { class: "quiet" }, ` ${recipe(mix)}`)),
    mix && !mix.reachable && h("p", { class: "warn" }, `No mix of your paints comes nearer than ${mix.delta_e.toFixed(1)} (2 is hardly seen).`),
    mixChoice([one.id], mix?.id ?? ""),
    others.length > 0 && h("div", {}, h("p", {}, "The same pot paints"), h("div", { class: "chips" }, others.map(chip))),
    h("p", { class: "quiet" }, passWords(one.id)),
  );
}

function passWords(id) {
  const coats = data("painting")?.coats.find((c) => c.area === id);
  const passes = passesOf(id);
  if (!coats || !passes.length) return "";
  return `${counted(coats.coats, "coat")}, in pass ${listed(passes.map((p) => String(p.no)))}. ${coats.why}`;
}

function aimField(ids, value) {
  const done = (hex) => aim(ids, hex);
  return h(
    "div",
    { class: "row" },
    field({ key: "target", label: "Colour aimed at", value, spellcheck: "false", size: 9, done: (v) => done(v.trim() || null) }),
    h("input", {
      type: "color",
      "aria-label": "Choose the colour aimed at",
      "data-key": "picker",
      value: /^#[0-9a-f]{6}$/i.test(value) ? value : "#808080",
      onchange: (event) => done(event.target.value),
    }),
    ids.some((id) => own(id).target) && button("As drawn", () => done(null), { "data-key": "as-drawn" }),
  );
}

function mixChoice(ids, letter) {
  const mixes = data("painting")?.mixes ?? [];
  if (!mixes.length) return null;
  return choice({
    key: "mix",
    label: ids.length > 1 ? "Paint them with mix" : "Paint it with mix",
    value: letter,
    options: [...(letter ? [] : [["", "choose a mix"]]), ...mixes.map((m) => [m.id, `${m.id} ${m.name}`])],
    done: (v) => v && assign(ids, v),
  });
}

function flagsOf(ids) {
  const has = (name) => ids.every((id) => area(id).flags.includes(name));
  return block(
    "What it is",
    Object.entries(FLAGS).map(([name, said]) =>
      tick({ key: `flag-${name}`, label: [h("b", {}, name), ` ${said}`], on: has(name), done: (on) => flag(ids, name, on) }),
    ),
  );
}

function partOf(ids) {
  const parts = data("reading").parts.map((p) => p.name);
  const there = new Set(ids.map((id) => area(id).part));
  return block(
    "Part",
    choice({
      key: "part",
      label: "Painted on",
      value: there.size === 1 ? [...there][0] : "",
      options: [...(there.size === 1 ? [] : [["", "several parts"]]), ...parts.map((p) => [p, p])],
      done: (v) => v && onPart(ids, v),
    }),
    field({ key: "new-part", label: "Or on a part of its own, called", value: "", done: (v) => v.trim() && onPart(ids, v) }),
  );
}

function mendOf(ids) {
  const beside = neighbours(ids);
  const rest = areas().filter((a) => !ids.includes(a.id) && !beside.includes(a.id)).map((a) => a.id);
  const options = [["", "choose an area"], ...[...beside, ...rest].map((id) => [String(id), called(area(id))])];
  return fold(
    "mend",
    "Read wrongly?",
    h("p", { class: "quiet" }, "Takes effect on the drawing; undo or 'left out' brings it back."),
    choice({ key: "swallow", label: "Only a highlight or sliver of", value: "", options, done: (v) => v && each(ids, "swallow", Number(v)) }),
    choice({ key: "join", label: "One area with", value: "", options, done: (v) => v && each(ids, "join", Number(v)) }),
    h(
      "div",
      { class: "row" },
      button("Not part of the figure", () => each(ids, "paper", true), { "data-key": "paper" }),
      button("A drawn line", () => each(ids, "line", true), { "data-key": "line" }),
    ),
    ids.length === 1 && splits(area(ids[0])),
  );
}

/** Splitting without a pointer: through the middle. */
function splits(one) {
  const [left, top, right, bottom] = one.bbox;
  const [x, y] = one.label_xy;
  return h(
    "div",
    { class: "row" },
    button("Split across", () => split(one.id, [[left, y], [right, y]]), { "data-key": "split-across" }),
    button("Split downwards", () => split(one.id, [[x, top], [x, bottom]]), { "data-key": "split-down" }),
    own(one.id) && store.job.cuts.some((c) => c.area === one.id) &&
      button("Undo its splits", () => edit({ [`${one.id}.cut`]: null }), { "data-key": "unsplit" }),
  );
}

/** Areas that share a border with these, the longest first. */
function neighbours(ids) {
  const length = new Map();
  for (const edge of data("reading").edges) {
    const [a, b] = edge.areas;
    if (ids.includes(a) === ids.includes(b)) continue;
    const other = ids.includes(a) ? b : a;
    length.set(other, (length.get(other) ?? 0) + edge.length_px);
  }
  return [...length.keys()].sort((a, b) => length.get(b) - length.get(a));
}

function bordersOf(one) {
  const edges = data("reading").edges.filter((e) => e.areas.includes(one.id));
  if (!edges.length) return null;
  return fold(
    "borders",
    counted(edges.length, "border"),
    edges.map((edge) => {
      const key = edge.areas.join("-");
      const other = edge.areas.find((id) => id !== one.id);
      const planned = data("painting")?.edges.find((e) => e.areas.join("-") === key);
      const said = planned ? `${planned.treat}, ${planned.first === one.id ? "this one" : "that one"} first` : "";
      return h(
        "p",
        { class: "row" },
        h("span", {}, `with ${called(area(other))}`),
        h("span", { class: "quiet" }, said),
        button("Change", () => toBorder(key), { "data-key": `border-${key}`, "aria-label": `Change the border with ${called(area(other))}` }),
      );
    }),
  );
}

function toBorder(key) {
  store.border = key;
  changed();
}

function ofBorder(key) {
  const [a, b] = key.split("-").map(Number);
  const edge = data("reading")?.edges.find((e) => e.areas.join("-") === key);
  if (!edge) return ofFigure();
  const planned = data("painting")?.edges.find((e) => e.areas.join("-") === key);
  const wish = store.job.edges?.[key] ?? {};
  return [
    h("h2", {}, `Border of ${called(area(a))} and ${called(area(b))}`),
    h("p", {}, `${mm(edge.length_mm)} long${edge.soft ? ", drawn softly" : ""}.`),
    answer(
      "painting",
      planned && h("p", {}, `Planned: ${TREATS[planned.treat] ?? planned.treat}; ${called(area(planned.first))} first.`),
      planned && h("p", { class: "quiet" }, `${planned.why}.`),
    ),
    choice({
      key: "treat",
      label: "How to treat it",
      value: wish.treat ?? "",
      options: [["", "as the plan has it"], ...Object.entries(TREATS)],
      done: (v) => border(key, "treat", v || null),
    }),
    choice({
      key: "first",
      label: "Which to lay first",
      value: String(wish.first ?? ""),
      options: [["", "as the plan has it"], ...[a, b].map((id) => [String(id), called(area(id))])],
      done: (v) => border(key, "first", v ? Number(v) : null),
    }),
    letGo(),
  ];
}

function ofSeveral(ids) {
  const mixes = [...new Set(ids.map((id) => mixOf(id)?.id).filter(Boolean))];
  const same = new Set(ids.map((id) => area(id).target)).size === 1;
  return [
    h("h2", {}, `${ids.length} areas chosen`),
    h("div", { class: "chips" }, ids.map((id) => chip(id))),
    answer(
      "painting",
      block(
        "Colour",
        mixChoice(ids, mixes.length === 1 ? mixes[0] : ""),
        field({ key: "share", label: "Or one mix of their own, called", value: "", done: (v) => v.trim() && share(ids, v) }),
        aimField(ids, same ? area(ids[0]).target : ""),
      ),
    ),
    flagsOf(ids),
    partOf(ids),
    mendOf(ids),
    letGo(),
  ];
}

const letGo = () =>
  h("p", {}, button("Let go", () => choose([]), { "data-key": "let-go", title: "Escape" }));

// One area or several are chosen: what they are, which colour they take.

import { button, choice, field, h, swatch, tick } from "./dom.js";
import { mendOf } from "./drawn_wrongly.js";
import { aim, assign, each, flag, onPart, own, share } from "./edits.js";
import { answer, block, chip, choose, fold, letGo, mixSwatch, recipe } from "./panels.js";
import { edit } from "./server.js";
import { area, areasOf, called, changed, data, mixOf, passesOf, store } from "./store.js";
import { FLAGS, cm2, counted, listed, mm } from "./words.js";

const HINTS = { dot: "A speck, set on top", recess: "A hollow, painted first", blend: "A soft shade of its neighbour", paper: "Not painted" };

export function ofOne(one) {
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
      // What was just typed may be no colour yet, or lab(...): a picker knows #rrggbb alone.
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
    // No empty choice once there is a mix: an area cannot be without one.
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

export function ofSeveral(ids) {
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

// The sheets as they will print, and the files to save.

import { button, choice, field, h, tick } from "./dom.js";
import { answer, block } from "./panels.js";
import { post, save, tell } from "./server.js";
import { changed, data, stale, store } from "./store.js";
import { counted } from "./words.js";

const DETAILS = { wall: "the wall sheet alone", bench: "all for the bench", full: "everything, with the reasons" };

const wished = ({ paper, detail, grey }) => ({ paper, detail, grey });

/** Ask for the pages of what is set, unless they are there. */
export async function make() {
  const sheets = store.sheets;
  if (sheets.busy || stale("plan") || !data("plan")) return;
  sheets.busy = true;
  changed();
  try {
    const wishes = JSON.stringify(wished(sheets));
    const made = await (await post("/api/sheets", JSON.parse(wishes))).json();
    // Set otherwise meanwhile: these pages are of before, and are asked for again when they are shown.
    const revision = JSON.stringify(wished(sheets)) === wishes ? made.revision : 0;
    Object.assign(sheets, { pages: made.pages, file: made.file, revision, made: Date.now() });
  } catch (error) {
    tell(error);
  }
  sheets.busy = false;
  changed();
}

function set(key, value) {
  store.sheets[key] = value;
  store.sheets.revision = 0;
  make();
}

/** Whether there are pages of the job as it stands. */
export const current = () => store.sheets.pages > 0 && store.sheets.revision === store.revision;

export function beside() {
  const sheets = store.sheets;
  return [
    h("h2", {}, "On paper"),
    answer("plan"),
    block(
      "How to print them",
      choice({ key: "paper", label: "Paper", value: sheets.paper, options: [["a4", "A4"], ["letter", "US Letter"]], done: (v) => set("paper", v) }),
      choice({ key: "detail", label: "How much", value: sheets.detail, options: Object.entries(DETAILS), done: (v) => set("detail", v) }),
      tick({ key: "grey", label: "In greys, for a printer without colour", on: sheets.grey, done: (on) => set("grey", on) }),
    ),
    block(
      "Save",
      h("div", { class: "row" }, file("painting-order.pdf", "The sheets (PDF)", { class: "main" })),
      field({ key: "start", label: "For the calendar: the run begins", value: start(), type: "datetime-local", done: (v) => (begins = v) }),
      h(
        "div",
        { class: "row" },
        file("run.ics", "Calendar", {}, () => `?start=${encodeURIComponent(start())}`),
        file("run.csv", "Run as a table (CSV)"),
        file("plan.json", "plan.json"),
        file("job.toml", "job.toml"),
      ),
    ),
    block(
      "The folder",
      h("p", { class: "path" }, store.folder),
      sheets.file && h("p", { class: "quiet" }, "The sheets and plan.json lie there too."),
      button("Open the folder", () => post("/api/folder").catch(tell), { "data-key": "open-folder" }),
    ),
  ];
}

let begins = "";

function start() {
  if (begins) return begins;
  const day = new Date();
  const time = /^\d\d:\d\d$/.test(store.job.run?.start_at ?? "") ? store.job.run.start_at : "19:00";
  return `${day.getFullYear()}-${String(day.getMonth() + 1).padStart(2, "0")}-${String(day.getDate()).padStart(2, "0")}T${time}`;
}

function file(name, said, props = {}, query = () => "") {
  const done = () => save(`/api/save/${name}${query()}`, name).catch(tell);
  return button(said, done, { "data-key": `save-${name}`, disabled: stale("plan"), ...props });
}

/** The pages, where the figure stands in the other views. */
export function pages() {
  const sheets = store.sheets;
  const old = !current();
  const said = sheets.busy || stale("plan") || !data("plan") ? "Setting the sheets …" : "";
  return h(
    "div",
    { class: old ? "sheets stale" : "sheets", "aria-busy": String(old) },
    h("p", { class: "working", role: "status" }, said || counted(sheets.pages, "page")),
    Array.from({ length: sheets.pages }, (_, i) =>
      // The query makes it another picture to the browser whenever the sheets were made anew.
      h("img", { src: `/api/sheets/${i + 1}?${sheets.made}`, alt: `Page ${i + 1} of ${sheets.pages}`, loading: i > 1 && "lazy" }),
    ),
  );
}

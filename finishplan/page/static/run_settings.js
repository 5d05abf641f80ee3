// What the run hangs on: castings, evenings, mould, room and the minutes of work, as keys of the job.

import { choice, field, h, number, tick } from "./dom.js";
import { block, fold } from "./panels.js";
import { edit } from "./server.js";
import { store } from "./store.js";
import { listed } from "./words.js";

/** @typedef {[key: string, label: string, hint?: string]} Row */

/** @type {Row[]} */
const MOULD = [
  ["run.cadence_min", "Minutes from one pull to the next", "0: all castings are there at the start"],
  ["run.per_shot", "Castings from one pull"],
  ["run.first_ready_min", "Minutes until the first casting is ready to prime"],
];
/** @type {Row[]} */
const ROOM = [
  ["room.temperature_c", "Air in the room, °C"],
  ["room.humidity_pct", "Humidity of the air, %"],
  ["room.air_speed_m_s", "Moving air, m/s", "0.1 in a still room, 0.5 with a fan"],
];
/** @type {Row[]} */
const DRYER = [
  ["room.dryer_castings", "Castings in its stream"],
  ["room.dryer_min", "Minutes of one go"],
];
/** @type {Row[]} */
const LABOUR = [
  ["labour.pace", "Your pace over all these minutes", "2: you take twice as long"],
  ["labour.mix_min", "Minutes to mix a pot, to begin with"],
  ["labour.turn_min", "Minutes to go over to a mix that lies open"],
  ["labour.handle_min", "Minutes to take a piece up and put it down"],
  ["labour.line_10mm_min", "Minutes for 10 mm of a clean line"],
  ["labour.per_dot_min", "Minutes for a dot"],
  ["labour.setup_min", "Minutes to set up and clear away, an evening"],
];
/** @type {Row[]} */
const BENCH = [
  ["run.wells", "Wells of the palette"],
  ["run.rack", "Castings that the rack holds", "all if left empty"],
];
const DAY = 1440;

/** Every setting of the run. */
export const settings = () => [
  block(
    "The run",
    numbered(["run.castings", "Castings"]),
    numbered(["run.painters", "People painting"]),
    evenings(),
    ticked("room.dryer", "A hair dryer is at hand"),
    ticked("run.fewest_changes", "Rather wait than change the mix"),
  ),
  fold("run-mould", "When castings leave the mould", MOULD.map(numbered)),
  fold("run-room", roomWords(), ROOM.map(numbered), of("room.dryer") && DRYER.map(numbered)),
  fold("run-labour", "Your minutes", h("p", { class: "quiet" }, "Usual minutes of practised hands; write your own where you know them."), LABOUR.map(numbered)),
  fold("run-bench", "Palette and rack", palette(), BENCH.map(numbered)),
];

const roomWords = () => `The room: ${of("room.temperature_c")} °C, ${of("room.humidity_pct")} % humidity`;

/** What the job says, the usual where it says nothing. @param {string} key */
const of = (key) => key.split(".").reduce((found, name) => found?.[name], store.job);

/** @param {Row} row */
function numbered([key, label, hint = ""]) {
  return field({
    key: key.replace(".", "-"),
    label: hint && !hint.includes("empty") ? [label, h("span", { class: "quiet" }, ` (${hint})`)] : label,
    value: String(of(key) ?? ""),
    inputmode: "decimal",
    placeholder: hint.includes("empty") ? hint : "the usual if left empty",
    done: (v) => edit({ [key]: number(v) }),
  });
}

const ticked = (key, label) => tick({ key: key.split(".")[1], label, on: Boolean(of(key)), done: (on) => edit({ [key]: on }) });

const palette = () =>
  choice({
    key: "run-palette",
    label: "Palette",
    value: of("run.palette"),
    options: [["wet", "wet, with a lid: pots keep a week"], ["dish", "an open dish: pots keep four hours"]],
    done: (v) => edit({ "run.palette": v }),
  });

/** Length and days of the evenings. */
function evenings() {
  const set = Boolean(of("run.session_min"));
  return [
    numbered(["run.session_min", "Minutes of one evening", "one long stretch if left empty"]),
    set && week(),
    field({ key: "run-start_at", label: "Begins at", value: of("run.start_at") ?? "", placeholder: "like 19:00", done: (v) => edit({ "run.start_at": v.trim() || null }) }),
  ];
}

const EVENINGS = { 7: [0, 1, 2, 3, 4, 5, 6], 6: [0, 1, 2, 3, 4, 5], 5: [0, 1, 2, 3, 4], 4: [0, 2, 4, 6], 3: [0, 2, 4], 2: [0, 3], 1: [0] };
/** That are listed in the job file; a longer run goes on every day. */
const WEEKS = 12;

/** How many evenings a week there are. Every evening needs no list of starts. */
function week() {
  const starts = of("run.starts") ?? [];
  const now = starts.length ? weekOf(starts) : of("run.day_min") === DAY ? "7" : of("run.day_min") === 7 * DAY ? "1" : "";
  return choice({
    key: "run-week",
    label: "Evenings a week",
    value: now,
    options: [...(now ? [] : [["", "as the job file lists them"]]), ...Object.entries(EVENINGS).reverse().map(([n, days]) => [n, n === "7" ? "7, every day" : `${n}, days ${listed(days.map((d) => String(d + 1)))} of each`])],
    done: (v) => v && edit(starting(Number(v))),
  });
}

/** @param {number} count */
function starting(count) {
  // Evenly spaced evenings need no list, and so no end.
  if (count === 7 || count === 1) return { "run.starts": null, "run.day_min": count === 7 ? null : 7 * DAY };
  const starts = Array.from({ length: WEEKS }, (_, w) => EVENINGS[count].map((d) => (7 * w + d) * DAY)).flat();
  return { "run.day_min": null, "run.starts": starts };
}

/** The number of evenings a week that a list of starts comes from, '' for another list. @param {number[]} starts */
const weekOf = (starts) =>
  Object.keys(EVENINGS).find((n) => String(starting(Number(n))["run.starts"]) === String(starts)) ?? "";

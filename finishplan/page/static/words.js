// Figures as a maker reads them: every one with its unit.

/** @param {number} minutes */
export function duration(minutes) {
  // What takes some time is never told as none.
  const whole = Math.max(minutes > 0 ? 1 : 0, Math.round(minutes));
  if (whole < 60) return `${whole} min`;
  const hours = Math.floor(whole / 60);
  if (hours < 24) return whole % 60 ? `${hours} h ${String(whole % 60).padStart(2, "0")} min` : `${hours} h`;
  const rounded = Math.round(minutes / 60);
  return rounded % 24 ? `${Math.floor(rounded / 24)} d ${rounded % 24} h` : `${rounded / 24} d`;
}

/** @param {number} value */
export const mm = (value) => `${value < 10 ? value.toFixed(1) : Math.round(value)} mm`;

/** @param {number} value */
export const cm2 = (value) => `${value < 0.1 ? value.toFixed(3) : value < 10 ? value.toFixed(1) : Math.round(value)} cm²`;

/**
 * @param {number} count
 * @param {string} one
 * @param {string} [many]
 */
export const counted = (count, one, many = `${one}s`) => `${count} ${count === 1 ? one : many}`;

/** @param {string[]} items */
export const listed = (items) =>
  items.length < 2 ? items.join("") : `${items.slice(0, -1).join(", ")} and ${items[items.length - 1]}`;


export const FLAGS = {
  recess: "a hollow: painted before what closes it off",
  dot: "a speck: set on top with the tip",
  blend: "shaded softly into its neighbour",
  bare: "left unpainted",
  first: "as early as the rules allow",
  last: "as late as the rules allow",
};

export const TREATS = {
  lap: "lap: the first colour runs over the line, thinned out",
  cut: "cut: the second colour makes the clean line",
  dot: "dot: set on top",
  blend: "blend: shaded softly",
};

/** How a value stands to a norm, in words and as a bar in standard deviations of the norm. Pure. */
import { fixed } from "./measures.js";

/** The bar ends at so many standard deviations on either side. */
export const BAR_ENDS = 4;

const minus = (text) => text.replace("-", "−");

/** The norm in words: "82 ± 3.5", "76 to 77", "0 ± 5.1 (−8.5 to 10)"; with `age` where it moves with age. */
export function normWords({ value, sd, low, high, age }) {
  const spread = sd ? ` ± ${sd}` : "";
  const range = low ? `${minus(low)} to ${minus(high)}` : "";
  if (value) return `${minus(value)}${spread}${range && ` (${range})`}`;
  if (range) return `${range}${spread}`;
  return age ? `${minus(age)}; not told for this age` : "";
}

/** What the norm takes as its middle for a value: its value, else the nearer end of its range, or the value inside it. */
function middle(value, norm) {
  if (norm.value) return Number(norm.value);
  if (!norm.low) return null;
  return Math.min(Math.max(value, Number(norm.low)), Number(norm.high));
}

/**
 * How a value stands to a norm: { words, deviation, error }. `deviation` is in standard deviations of the norm (null
 * when it has none), `error` the measure's own deviation in the same unit. Null when there is nothing to compare.
 */
export function deviationOf(value, sd, norm) {
  const from = middle(value, norm);
  if (from === null) return null;
  const off = value - from;
  const spread = Number(norm.sd) || null;
  const size = spread ? `${fixed(Math.abs(off) / spread, 1)} SD` : fixed(Math.abs(off), 1);
  const side = off > 0 ? "over" : "under";
  const inside = !norm.value && off === 0;
  const none = Number(size.replace(" SD", "")) === 0;
  return {
    words: inside ? "inside" : none ? "at the norm" : `${size} ${side}`,
    deviation: spread ? off / spread : null,
    error: spread && sd !== null ? sd / spread : null,
  };
}

/** Where a deviation lies on a bar of `width`, held at its ends; `cut` says that it lies beyond. */
export function onBar(deviation, width) {
  const held = Math.min(Math.max(deviation, -BAR_ENDS), BAR_ENDS);
  return { x: ((held + BAR_ENDS) / (2 * BAR_ENDS)) * width, cut: held !== deviation };
}

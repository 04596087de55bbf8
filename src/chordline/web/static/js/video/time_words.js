/** Moments and lengths of time, as a coach reads them and as they are read aloud. */

/** @param {number} t_s @returns {string} `4.2 s`, from a minute on `1:04.2` */
export function moment(t_s) {
  const tenths = Math.round(10 * Math.max(0, t_s));
  if (tenths < 600) return `${(tenths / 10).toFixed(1)} s`;
  const minutes = Math.floor(tenths / 600);
  const rest = ((tenths - 600 * minutes) / 10).toFixed(1);
  return `${minutes}:${rest.padStart(4, "0")}`;
}

/** @param {number} t_s @returns {string} `4.2 seconds`, from a minute on `1 minute 4.2 seconds` */
export function momentAloud(t_s) {
  const tenths = Math.round(10 * Math.max(0, t_s));
  const minutes = Math.floor(tenths / 600);
  const rest = `${((tenths - 600 * minutes) / 10).toFixed(1)} seconds`;
  return minutes > 0 ? `${minutes} ${minutes === 1 ? "minute" : "minutes"} ${rest}` : rest;
}

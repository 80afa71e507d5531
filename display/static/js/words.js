// The words that scripts redraw, and how lengths of time are written: as in display/formats.py.
const table = JSON.parse(document.getElementById("words").textContent);

export function say(key, values = {}) {
  return table[key].replace(/\{(\w+)\}/g, (_, name) => values[name] ?? "");
}

export function length(minutes) {
  const whole = Math.floor(Math.abs(minutes));
  if (whole < 60) return `${whole}\u00a0${table.min}`;
  if (whole < 48 * 60) {
    const rest = whole % 60;
    return `${Math.floor(whole / 60)}\u00a0${table.hour_letter}` + (rest ? `\u00a0${String(rest).padStart(2, "0")}` : "");
  }
  const hours = Math.floor((whole % 1440) / 60);
  return `${Math.floor(whole / 1440)}\u00a0${table.day_letter}` + (hours ? `\u00a0${hours}\u00a0${table.hour_letter}` : "");
}

// A length as a figure for two metres: its units smaller than its numbers.
export function figure(element, text) {
  const bare = (written) => written.replaceAll("\u00a0", "");
  if (bare(element.textContent) === bare(text)) return;
  element.replaceChildren();
  for (const part of text.split("\u00a0")) {
    if (/\d/.test(part)) element.append(part);
    else element.append(Object.assign(document.createElement("small"), { textContent: `\u00a0${part}\u00a0` }));
  }
}

// The age of a reading, in seconds while it is young.
export function ago(seconds) {
  const whole = Math.max(0, Math.floor(seconds));
  return say("ago", { time: whole < 90 ? `${whole}\u00a0${table.seconds}` : length(whole / 60) });
}

export function countdown(seconds) {
  const whole = Math.floor(Math.abs(seconds));
  const text = whole < 600 ? `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}` : length(whole / 60);
  return seconds >= 0 ? text : `+${text}`;
}
